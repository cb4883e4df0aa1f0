"""Absences as a table, in the columns that come in."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence

from bandops.lib.exports.kinds import Export, Rows, add_export
from bandops.lib.names import plain
from drill.absences import queries
from drill.absences.models import Absence
from drill.events import queries as event_queries
from roster.people.models import Season
from roster.people.wording import who


def _absences(season: Season) -> tuple[Sequence[str], Rows]:
    headers = (
        "member",
        "event",
        "from",
        "until",
        "segment",
        "kind",
        "late until",
        "leaves at",
        "chance",
        "category",
        "review date",
        "state",
    )
    names = Counter(plain(e.name) for e in event_queries.events(season))
    several = {name for name, times in names.items() if times > 1}
    absences = queries.absences(season).order_by(queries.WHEN_MADE, "pk")
    return headers, [_absence_row(a, several) for a in absences]


def _absence_row(a: Absence, several: set[str]) -> Sequence[object]:
    first = a.event.date if a.event and plain(a.event.name) in several else a.from_date
    return (
        who(a.member),
        a.event.name if a.event else "",
        first,
        a.until_date,
        a.segment.name if a.segment else "",
        a.kind,
        f"{a.late_until:%H:%M}" if a.late_until else "",
        f"{a.leaves_at:%H:%M}" if a.leaves_at else "",
        a.chance if a.kind == "doubtful" else "",
        a.category,
        a.review_date,
        a.state,
    )


add_export(Export("absences", "Absences", _absences, 6, "absence reasons", Absence._meta.db_table))
