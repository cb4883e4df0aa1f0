from bandops.lib import rooms


class Outfits(rooms.Room):
    name = "drill.outfits"
