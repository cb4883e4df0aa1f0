from bandops.lib import rooms


class Learning(rooms.Room):
    name = "drill.learning"
