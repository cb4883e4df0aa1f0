"""Who really marched as tables."""

from __future__ import annotations

from collections.abc import Sequence

from bandops.lib.exports.kinds import Export, Rows, add_export
from drill.record.models import RecordEntry
from drill.record.services.marching_record import shares, with_names
from roster.people.models import Season
from roster.people.wording import who


def _shares(season: Season) -> tuple[Sequence[str], Rows]:
    headers = ("member", "name", "marched", "stood by", "offered", "chances", "percent")
    return headers, [
        (who(m), m.name, c.marched, c.stood_by, c.offered, c.available, c.percent)
        for m, c in shares(season)
    ]


def _marching_record(season: Season) -> tuple[Sequence[str], Rows]:
    headers = (
        "event",
        "date",
        "segment",
        "member",
        "spot",
        "outcome",
        "first outcome",
        "first spot",
        "why corrected",
    )
    entries = with_names(RecordEntry.objects.filter(record__event__season=season)).order_by(
        "record__event__date", "record_id", "segment__order", "member__person__sort_key", "id"
    )
    return headers, [
        (
            t.record.event.name,
            t.record.event.date,
            t.segment.name,
            who(t.member),
            t.spot or "",
            t.outcome,
            t.first_outcome,
            t.first_spot or "",
            t.note,
        )
        for t in entries
    ]


add_export(Export("record-shares", "Marching record, with everybody's share", _shares, 12))
add_export(Export("marching-record", "The marching record, line by line", _marching_record, 13))
