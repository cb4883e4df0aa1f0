from bandops.lib import rooms


class Leaving(rooms.Room):
    name = "drill.leaving"
