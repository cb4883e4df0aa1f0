from bandops.lib import rooms


class Challenges(rooms.Room):
    name = "drill.challenges"
