from bandops.lib.rooms import Room


class Publishing(Room):
    name = "drill.publishing"
