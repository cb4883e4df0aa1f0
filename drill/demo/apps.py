from bandops.lib.rooms import Room


class Demo(Room):
    name = "drill.demo"
