from bandops.lib import rooms


class Travel(rooms.Room):
    name = "drill.travel"
