"""Events in the words of other pages."""

from __future__ import annotations

from django.utils.dateformat import format as formatted

from bandops.lib.finding.finding import Entry
from drill.events.models import Event


def found_event(event: Event, page: str) -> Entry:
    """An event as the search shows it, leading to a ``page`` of it if any."""
    day = formatted(event.date, "D j M")
    note = f"{day}, {event.venue}" if event.venue else day
    words = f"{event.venue} {event.kind} {formatted(event.date, 'l j F')}"
    return Entry("Events", event.name, event.pk, words, note, page, event.pk if page else None)
