from bandops.lib.rooms import Room


class Record(Room):
    name = "drill.record"
