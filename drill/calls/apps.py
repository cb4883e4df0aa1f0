from bandops.lib.rooms import Room


class Calls(Room):
    name = "drill.calls"
