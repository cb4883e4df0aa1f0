"""Events as a table, in the columns that come in."""

from __future__ import annotations

import datetime
from collections.abc import Sequence

from bandops.lib.exports.kinds import Export, Rows, add_export
from drill.events import queries
from drill.events.models import Event
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
        (*_event_cells(event), s.name, s.kind, _clock(s.starts), _clock(s.ends), s.show or "")
        for event in queries.events(season)
        for s in event.segments.all()
    ]


def _event_cells(event: Event) -> Sequence[object]:
    cut_off = event.cut_off.astimezone(event.zone) if event.cut_off else None
    return (
        event.name,
        event.kind,
        event.venue,
        event.date,
        event.time_zone,
        _clock(event.call_time),
        f"{cut_off:%Y-%m-%d %H:%M}" if cut_off else "",
        event.travel_limit,
        event.uniform,
        event.field_type,
    )


def _clock(time: datetime.time | None) -> str:
    return f"{time:%H:%M}" if time else ""


add_export(Export("events", "Events", _events, 5))
