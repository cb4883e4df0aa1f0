from bandops.lib import rooms


class Fundamentals(rooms.Room):
    name = "drill.fundamentals"
