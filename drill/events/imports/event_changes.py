"""What a row changes of an event and its segment, and how it is written."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any
from zoneinfo import ZoneInfo

from bandops.lib.dates import Clock, value_words
from bandops.lib.imports.plan import Action, FieldChange
from drill.events.models import Event, Segment


def event_writer(action: Action, event: Event, values: dict[str, Any]) -> Callable[[], None]:
    """What writes an event alone when the import is taken."""

    def do() -> None:
        if action is Action.SAME:
            return
        for name, value in values.items():
            setattr(event, name, value)
        event.full_clean(exclude=["must_travel"])
        event.save()

    return do


def writer_of(
    action: Action, event: Event, values: dict[str, Any], segment: Segment, wanted: dict[str, Any]
) -> Callable[[], None]:
    """What writes the event and its segment when the import is taken."""

    write_event = event_writer(action, event, values)

    def do() -> None:
        if action is Action.SAME:
            return
        write_event()
        show = wanted.get("show")
        if show is not None and show.pk is None:
            show.save()
        for name, value in wanted.items():
            setattr(segment, name, value)
        segment.event = event
        segment.full_clean()
        segment.save()

    return do


FOLDS = {"call_fold": "call time", "starts_fold": "starts", "ends_fold": "ends"}
SUCH = ("first such time", "second such time")


def differences(
    target: Event | Segment, values: dict[str, Any], event: Event, new: dict[str, Any]
) -> list[FieldChange]:
    """What differs from what is there, in words: times by the clock of the ``event`` as it is, and
    as its ``new`` values make it."""
    was, will = _clock(event, {}), _clock(event, new)
    found = []
    for name, value in values.items():
        old = getattr(target, name, None)
        if name == "times_proposed":
            continue  # goes with the times themselves
        if name in FOLDS:
            if bool(old) != value:
                found.append(FieldChange(FOLDS[name], SUCH[bool(old)], SUCH[value]))
        elif old != value and (old or value):
            found.append(
                FieldChange(
                    name.replace("_", " "),
                    value_words(old or "", was),
                    value_words(value or "", will),
                )
            )
    return found


def _clock(event: Event, new: dict[str, Any]) -> Clock | None:
    day, zone = new.get("date") or event.date, new.get("time_zone") or event.time_zone
    return (day, ZoneInfo(zone)) if day and zone else None
