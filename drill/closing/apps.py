from bandops.lib import rooms


class Closing(rooms.Room):
    name = "drill.closing"
