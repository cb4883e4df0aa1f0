from bandops.lib import rooms


class Gameday(rooms.Room):
    name = "drill.gameday"
