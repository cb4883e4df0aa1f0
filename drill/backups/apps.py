from bandops.lib import rooms


class Backups(rooms.Room):
    name = "drill.backups"
