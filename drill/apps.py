from django.apps import AppConfig
from django.db.models.signals import post_migrate, pre_migrate


class DrillConfig(AppConfig):
    """Shows, events, absences and lineups."""

    name = "drill"

    def ready(self) -> None:
        from drill import frozen

        pre_migrate.connect(frozen.before_migrate, dispatch_uid="frozen")
        post_migrate.connect(frozen.after_migrate, dispatch_uid="frozen")
        from drill import exports, imports, jobs  # noqa: F401  (they register their kinds)
