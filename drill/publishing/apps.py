from bandops.lib import rooms


class Publishing(rooms.Room):
    name = "drill.publishing"
