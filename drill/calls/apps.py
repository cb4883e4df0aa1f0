from bandops.lib import rooms


class Calls(rooms.Room):
    name = "drill.calls"
