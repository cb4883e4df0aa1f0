from bandops.lib.rooms import Room


class Ranks(Room):
    name = "roster.ranks"
