from bandops.lib import rooms


class Readiness(rooms.Room):
    name = "drill.readiness"
