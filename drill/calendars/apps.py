from bandops.lib.rooms import Room


class Calendars(Room):
    name = "drill.calendars"
