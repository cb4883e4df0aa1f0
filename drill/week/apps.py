from bandops.lib.rooms import Room


class Week(Room):
    name = "drill.week"
