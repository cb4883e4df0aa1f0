from bandops.lib.rooms import Room


class Fundamentals(Room):
    name = "drill.fundamentals"
