from bandops.lib import rooms


class Cards(rooms.Room):
    name = "drill.cards"
