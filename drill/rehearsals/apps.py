from bandops.lib import rooms


class Rehearsals(rooms.Room):
    name = "drill.rehearsals"
