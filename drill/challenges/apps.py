from bandops.lib.rooms import Room


class Challenges(Room):
    name = "drill.challenges"
