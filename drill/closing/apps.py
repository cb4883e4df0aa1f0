from bandops.lib.rooms import Room


class Closing(Room):
    name = "drill.closing"
