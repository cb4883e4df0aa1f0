from bandops.lib import rooms


class Tryouts(rooms.Room):
    name = "roster.tryouts"
