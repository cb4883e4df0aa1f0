"""The event and the segments that a row of free text is about."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from bandops.lib.imports.plan import Record
from bandops.lib.imports.proposals import ProposedField
from bandops.lib.imports.values import parse_date
from bandops.lib.imports.words import Choice
from bandops.lib.names import plain
from drill.absences.core.phrases.reading import Reading
from drill.absences.services.written import event_meant, segments_meant
from drill.events.models import Event

WHOLE = Choice("", "the whole event")


@dataclass(frozen=True, slots=True)
class Place:
    """The event by name, its day where the text told it, its segments as a cell holds them, and
    what can be chosen instead. ``asked`` when somebody must say which event is meant."""

    event: str = ""
    day: str = ""
    segments: str = ""
    choices: tuple[Choice, ...] = ()
    asked: bool = False


def place_of(record: Record, reading: Reading, events: list[Event]) -> tuple[Place, str]:
    """What the row's columns say, else what the text does; and what is not certain about it."""
    if record["event"]:
        event = _named(record, events)
        if event is None:
            return Place(record["event"], segments=record["segment"]), ""
        return _within(event, record, reading, "")
    if not reading.segments or record["from"]:
        return Place(segments=record["segment"]), ""
    event = event_meant(reading, events)
    if event is None:
        return Place(asked=True), "Which event is it about?"
    return _within(event, record, reading, event.date.isoformat())


def place_fields(record: Record, place: Place, events: Iterable[Event]) -> Iterator[ProposedField]:
    """The event where the row itself does not name it, and its segment."""
    if not record["event"] and (place.asked or place.event):
        names = dict.fromkeys(event.name for event in events)
        choices = (Choice("", "choose…"), *(Choice(name, name) for name in names))
        yield ProposedField("event", "Event", place.event, choices)
        yield ProposedField("from", "Its day", place.day, (), "date")
    if place.asked:
        yield ProposedField("segment", "Segment", record["segment"])
    elif place.choices:
        yield ProposedField("segment", "Segment", place.segments, place.choices)


def _within(event: Event, record: Record, reading: Reading, day: str) -> tuple[Place, str]:
    """The event's segments that the row or its text names."""
    words = [record["segment"]] if record["segment"] else reading.segments
    found = segments_meant(words, event) if words else []
    named = ", ".join(segment.name for segment in found or [])
    own = [Choice(s.name, s.name) for s in event.segments.all()]
    several = [Choice(named, named)] if len(found or []) > 1 else []
    place = Place(event.name, day, named or record["segment"], (WHOLE, *own, *several))
    if found is None and not record["segment"]:
        return place, f"{event.name} has no such segment: choose one, or the whole event."
    return place, ""


def _named(record: Record, events: Iterable[Event]) -> Event | None:
    """The one event of the row's name, on its day where it gives one."""
    named = [event for event in events if plain(event.name) == plain(record["event"])]
    try:
        day = parse_date(record["from"])
    except ValueError:
        day = None
    found = [event for event in named if day in (None, event.date)]
    return found[0] if len(found) == 1 else None
