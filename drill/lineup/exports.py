"""Published lineups as a table."""

from __future__ import annotations

from collections.abc import Sequence

from bandops.lib.exports.kinds import Export, Rows, add_export
from drill.lineup import queries
from roster.people.models import Season


def _lineups(season: Season) -> tuple[Sequence[str], Rows]:
    headers = ("event", "date", "revision", "segment", "rank", "spot", "part", "member", "how")
    rows: Rows = []
    for lineup in queries.latest_numbers(season).select_related("event").order_by("event__date"):
        for row in queries.rows(lineup):
            rows.append(
                (
                    lineup.event.name,
                    lineup.event.date,
                    lineup.number,
                    row.segment.name,
                    row.spot.rank.label,
                    row.spot.label,
                    row.spot.part.code,
                    row.member.name if row.member else "",
                    row.origin,
                )
            )
    return headers, rows


add_export(Export("lineups", "Published lineups", _lineups, 10))
