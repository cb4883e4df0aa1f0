from bandops.lib.rooms import Room


class Absences(Room):
    name = "drill.absences"
