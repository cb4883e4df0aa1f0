from django.db.models.signals import post_migrate, pre_migrate

from bandops.lib import rooms
from drill.lineup import frozen


class Lineup(rooms.Room):
    name = "drill.lineup"

    def ready(self) -> None:
        super().ready()
        pre_migrate.connect(frozen.before_migrate, dispatch_uid="frozen")
        post_migrate.connect(frozen.after_migrate, dispatch_uid="frozen")
