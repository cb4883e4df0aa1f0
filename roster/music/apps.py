from bandops.lib import rooms


class Music(rooms.Room):
    name = "roster.music"
