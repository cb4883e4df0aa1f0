from bandops.lib import rooms


class Calendars(rooms.Room):
    name = "drill.calendars"
