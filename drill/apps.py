from django.apps import AppConfig


class DrillConfig(AppConfig):
    """Shows, events, absences and lineups."""

    name = "drill"

    def ready(self) -> None:
        from drill import imports  # noqa: F401  (registers the kinds of imports)
        from drill.services import jobs  # noqa: F401  (registers the kinds of jobs)
