from bandops.lib import rooms


class Field(rooms.Room):
    name = "drill.field"
