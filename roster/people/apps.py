from bandops.lib.rooms import Room


class People(Room):
    name = "roster.people"
