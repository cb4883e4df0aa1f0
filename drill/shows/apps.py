from bandops.lib import rooms


class Shows(rooms.Room):
    name = "drill.shows"
