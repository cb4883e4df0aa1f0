from bandops.lib.rooms import Room


class Rehearsals(Room):
    name = "drill.rehearsals"
