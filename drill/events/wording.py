"""Events in the words of other pages."""

from __future__ import annotations

from bandops.lib.dates import full_words, weekday_words
from bandops.lib.finding.finding import Entry
from drill.events.models import Event


def found_event(event: Event, page: str) -> Entry:
    """An event as the search shows it, leading to a ``page`` of it if any."""
    day = weekday_words(event.date)
    note = f"{day}, {event.venue}" if event.venue else day
    words = f"{event.venue} {event.kind} {full_words(event.date)}"
    return Entry("Events", event.name, event.pk, words, note, page, event.pk if page else None)
