"""Events as a table, in the columns that come in."""

from __future__ import annotations

import datetime
from collections.abc import Sequence
from zoneinfo import ZoneInfo

from bandops.lib.clocks import readings
from bandops.lib.dates import zone_words
from bandops.lib.exports.kinds import Export, Rows, add_export
from drill.events import queries
from drill.events.models import Event, Segment
from roster.people.models import Season


def _events(season: Season) -> tuple[Sequence[str], Rows]:
    headers = (
        "event",
        "kind",
        "venue",
        "date",
        "time zone",
        "call time",
        "cut-off",
        "travel limit",
        "uniform",
        "field",
        "segment",
        "segment kind",
        "starts",
        "ends",
        "show",
    )
    return headers, [
        (*_event_cells(event), s.name, s.kind, *_times(event, s), s.show or "")
        for event in queries.events(season)
        for s in event.segments.all()
    ]


def _event_cells(event: Event) -> Sequence[object]:
    cut_off = event.cut_off.astimezone(event.zone) if event.cut_off else None
    called_at = event.called_at
    return (
        event.name,
        event.kind,
        event.venue,
        event.date,
        event.time_zone,
        _clock(called_at) if called_at else "",
        f"{cut_off:%Y-%m-%d} {_clock(cut_off)}" if cut_off else "",
        event.travel_limit,
        event.uniform,
        event.field_type,
    )


def _times(event: Event, segment: Segment) -> tuple[str, str]:
    starts, ends = event.span(segment)
    return _clock(starts), _clock(ends)


def _clock(moment: datetime.datetime) -> str:
    """The time, with its zone's letters where the day has it twice."""
    assert isinstance(moment.tzinfo, ZoneInfo)
    twice = len(readings(moment.replace(tzinfo=None, fold=0), moment.tzinfo)) > 1
    return f"{moment:%H:%M} {zone_words(moment)}" if twice else f"{moment:%H:%M}"


add_export(Export("events", "Events", _events, 5))
