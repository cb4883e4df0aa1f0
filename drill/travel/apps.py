from bandops.lib.rooms import Room


class Travel(Room):
    name = "drill.travel"
