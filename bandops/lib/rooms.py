"""Rooms: each is a Django app that brings everything of one feature."""

from __future__ import annotations

from importlib import import_module

from django.apps import AppConfig, apps
from django.utils.module_loading import module_has_submodule

REGISTERING = ("imports", "exports", "jobs", "prints", "menu", "search", "joins")
"""modules that make what a room has known to the ground floor and to earlier rooms"""


class Room(AppConfig):
    """One feature; whichever of the ``REGISTERING`` modules it has is imported at the start."""

    def ready(self) -> None:
        for name in REGISTERING:
            if self.has(name):
                import_module(f"{self.name}.{name}")

    def has(self, module: str) -> bool:
        """Whether the room has a module of the name."""
        return module_has_submodule(self.module, module)


def apps_with_tables() -> list[AppConfig]:
    """The ground floor and the rooms that have tables, as they are set up."""
    return [
        config
        for config in apps.get_app_configs()
        if (isinstance(config, Room) or config.label == "lib") and config.models_module
    ]


def rooms_with(module: str) -> list[str]:
    """The dotted names of the rooms' modules of a name, for the composition root to join."""
    rooms = (config for config in apps.get_app_configs() if isinstance(config, Room))
    return [f"{room.name}.{module}" for room in rooms if room.has(module)]
