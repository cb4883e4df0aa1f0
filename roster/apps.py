from django.apps import AppConfig


class RosterConfig(AppConfig):
    """People, instruments, ranks and spots."""

    name = "roster"
