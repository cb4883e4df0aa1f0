from bandops.lib import rooms


class Events(rooms.Room):
    name = "drill.events"
