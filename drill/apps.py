from django.apps import AppConfig


class DrillConfig(AppConfig):
    """Shows, events, absences and lineups."""

    name = "drill"

    def ready(self) -> None:
        from drill import exports, imports, jobs  # noqa: F401  (they register their kinds)
