"""The import of coordinates, in whatever layout they come."""

from drill.shows.imports import coordinates

__all__ = ["coordinates"]
