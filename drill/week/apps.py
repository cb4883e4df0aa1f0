from bandops.lib import rooms


class Week(rooms.Room):
    name = "drill.week"
