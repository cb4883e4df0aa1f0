from django.apps import AppConfig


class RosterConfig(AppConfig):
    """People, instruments, ranks and spots."""

    name = "roster"

    def ready(self) -> None:
        from roster import imports  # noqa: F401  (registers the kinds of imports)
