from bandops.lib.rooms import Room


class Cards(Room):
    name = "drill.cards"
