from bandops.lib import rooms


class Demo(rooms.Room):
    name = "drill.demo"
