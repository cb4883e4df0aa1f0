from bandops.lib import rooms


class People(rooms.Room):
    name = "roster.people"
