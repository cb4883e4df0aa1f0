from bandops.lib import rooms


class Absences(rooms.Room):
    name = "drill.absences"
