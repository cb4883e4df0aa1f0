from bandops.lib.rooms import Room


class Events(Room):
    name = "drill.events"
