"""Imports of the drill: events, absences, coordinates, covers, practice."""

from drill.imports import absences, coordinates, covers, events

__all__ = ["absences", "coordinates", "covers", "events"]
