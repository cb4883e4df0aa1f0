"""The import of events."""

from drill.events.imports import events

__all__ = ["events"]
