from bandops.lib import rooms


class Record(rooms.Room):
    name = "drill.record"
