"""Tables of the drill that go out."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence

from bandops.lib.names import plain
from drill import queries
from drill.models import Absence
from roster.exports import Export, Rows, add_export
from roster.models import Member, Season


def _who(member: Member) -> str:
    return member.person.student_number or member.person.email or member.name


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
    names = Counter(plain(e.name) for e in queries.events(season))
    several = {name for name, times in names.items() if times > 1}
    absences = queries.absences(season).order_by("id")
    return headers, [_absence_row(a, several) for a in absences]


def _absence_row(a: Absence, several: set[str]) -> Sequence[object]:
    first = a.event.date if a.event and plain(a.event.name) in several else a.from_date
    return (
        _who(a.member),
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


add_export(Export("absences", "Absences", _absences, "absence reasons", Absence._meta.db_table))
add_export(Export("lineups", "Published lineups", _lineups))
