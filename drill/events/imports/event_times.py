"""Times proposed for the segments of a file that says none."""

from __future__ import annotations

import datetime
from collections.abc import Iterator
from typing import Any

from bandops.lib.dates import span_words
from bandops.lib.imports.plan import Fault, Record
from bandops.lib.names import plain
from drill.events.core.proposed_times import Slot, proposed_times
from drill.events.enums import EventKind
from drill.events.models import Segment

Wanted = tuple[Record, dict[str, Any]]


def propose_times(
    segments: list[Wanted], there: list[Segment], given: dict[str, Any], kind: str
) -> Iterator[Fault]:
    """Give each new segment without times usual ones, and tell which; those that are there keep
    theirs."""
    known = {plain(segment.name): segment for segment in there}
    starts = _start(segments, given)
    slots = [_slot(wanted, known) for _, wanted in segments]
    named = {plain(wanted["name"]) for _, wanted in segments}
    others = [Slot(s.kind, s.starts, s.ends) for s in there if plain(s.name) not in named]
    rehearsal = kind == EventKind.REHEARSAL
    times = proposed_times([*slots, *others], given.get("call_time"), starts, rehearsal=rehearsal)
    for (record, wanted), span in zip(segments, times, strict=False):
        segment = known.get(plain(wanted["name"]))
        untimed = wanted["starts"] is None and wanted["ends"] is None
        if segment is not None and untimed:
            del wanted["starts"], wanted["ends"]
        elif wanted["starts"] is None or wanted["ends"] is None:
            wanted |= {"starts": span[0], "ends": span[1], "times_proposed": True}
            yield record.fault("segment", _told(wanted["name"], *span))
        elif segment is not None and (segment.starts, segment.ends) != span:
            wanted["times_proposed"] = False


def _slot(wanted: dict[str, Any], known: dict[str, Segment]) -> Slot:
    """A segment with the times that it has in the file, else those that it has already."""
    segment = known.get(plain(wanted["name"]))
    if segment is not None and wanted["starts"] is None and wanted["ends"] is None:
        return Slot(segment.kind, segment.starts, segment.ends)
    return Slot(wanted["kind"], wanted["starts"], wanted["ends"])


def _start(segments: list[Wanted], given: dict[str, Any]) -> datetime.time | None:
    """When the event begins: the kick-off, else a start that stands beside several segments."""
    beside = [wanted.pop("all_from", None) for _, wanted in segments]
    starts: datetime.time | None = given.get("kick_off")
    return starts or next(filter(None, beside), None)


def _told(name: str, starts: datetime.time, ends: datetime.time) -> str:
    return (
        f"{name} gets suggested times, {span_words(starts, ends)}: change them on the event's page."
    )
