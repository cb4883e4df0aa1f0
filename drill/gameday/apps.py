from bandops.lib.rooms import Room


class Gameday(Room):
    name = "drill.gameday"
