from bandops.lib.rooms import Room


class Learning(Room):
    name = "drill.learning"
