from bandops.lib.rooms import Room


class Field(Room):
    name = "drill.field"
