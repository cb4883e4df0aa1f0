from bandops.lib.rooms import Room


class Backups(Room):
    name = "drill.backups"
