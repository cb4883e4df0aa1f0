from bandops.lib import rooms


class Ranks(rooms.Room):
    name = "roster.ranks"
