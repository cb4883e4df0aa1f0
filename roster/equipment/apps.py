from bandops.lib import rooms


class Equipment(rooms.Room):
    name = "roster.equipment"
