from bandops.lib.rooms import Room


class Shows(Room):
    name = "drill.shows"
