"""Tables of the drill that go out."""

from __future__ import annotations

import datetime
from collections import Counter
from collections.abc import Sequence
from decimal import Decimal

from bandops.lib.names import plain
from drill import queries
from drill.core.field import UNITS_PER_STEP
from drill.enums import TravelState
from drill.models import Absence, Cover, Event, Position, Show, Traveller, Turn
from drill.services.practice import sets_practised
from drill.services.turn_tables import shares, with_names
from roster import queries as roster
from roster.exports import Export, Rows, add_export, who
from roster.models import Member, Season


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
        "dress",
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
        event.dress,
        event.field_type,
    )


def _clock(time: datetime.time | None) -> str:
    return f"{time:%H:%M}" if time else ""


def _coordinates(season: Season) -> tuple[Sequence[str], Rows]:
    positions = Position.objects.filter(set__version__show__season=season)
    positions = positions.select_related("set__version__show", "place").order_by(
        "set__version__show__name", "set__version__order", "set__order", "place__label"
    )
    headers = ("show", "version", "field", "set", "counts", "between", "tempo", "place", "x", "y")
    return headers, [
        (
            p.set.version.show.name,
            p.set.version.label,
            p.set.version.show.field_type,
            p.set.label,
            p.set.counts,
            "yes" if p.set.is_between else "no",
            p.set.tempo or "",
            p.place.label,
            _steps(p.x),
            _steps(p.y),
        )
        for p in positions
    ]


def _steps(units: int) -> Decimal:
    """Steps to four places, which name every 1/32 inch."""
    return round(Decimal(units) / UNITS_PER_STEP, 4).normalize() + 0


def _covers(season: Season) -> tuple[Sequence[str], Rows]:
    covers = Cover.objects.filter(spot__rank__season=season)
    covers = covers.select_related("spot__rank", "member__person").order_by(
        "spot__rank__order", "spot__rank__label", "spot__number", "order"
    )
    return ("spot", "order", "member"), [(c.spot.label, c.order, who(c.member)) for c in covers]


def _travel(season: Season) -> tuple[Sequence[str], Rows]:
    posted = Traveller.objects.filter(list__event__season=season, list__state=TravelState.POSTED)
    posted = posted.select_related("list__event", "member__person").order_by(
        "list__event__date", "list_id", "member__person__sort_key"
    )
    return ("event", "date", "member", "name", "role"), [
        (t.list.event.name, t.list.event.date, who(t.member), t.member.name, t.role) for t in posted
    ]


def _practice(season: Season) -> tuple[Sequence[str], Rows]:
    """What was told and what the practice log knows together, in the versions in use."""
    members = {m.pk: m for m in Member.objects.filter(season=season).select_related("person")}
    spots = {spot.pk: spot.label for spot in roster.spots(season)}
    shows = dict(Show.objects.filter(season=season).values_list("pk", "name"))
    return ("member", "spot", "show", "sets practised"), [
        (who(members[member]), spots[spot], shows[show], sets)
        for (member, spot, show), sets in sorted(sets_practised(season).items())
    ]


def _shares(season: Season) -> tuple[Sequence[str], Rows]:
    headers = ("member", "name", "marched", "stood by", "offered", "chances", "percent")
    return headers, [
        (who(m), m.name, c.marched, c.stood_by, c.offered, c.available, c.percent)
        for m, c in shares(season)
    ]


def _turn_book(season: Season) -> tuple[Sequence[str], Rows]:
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
    turns = with_names(Turn.objects.filter(book__event__season=season)).order_by(
        "book__event__date", "book_id", "segment__order", "member__person__sort_key", "id"
    )
    return headers, [
        (
            t.book.event.name,
            t.book.event.date,
            t.segment.name,
            who(t.member),
            t.spot or "",
            t.outcome,
            t.first_outcome,
            t.first_spot or "",
            t.note,
        )
        for t in turns
    ]


add_export(Export("events", "Events", _events))
add_export(Export("absences", "Absences", _absences, "absence reasons", Absence._meta.db_table))
add_export(Export("coordinates", "Coordinates", _coordinates))
add_export(Export("covers", "Covers", _covers))
add_export(Export("practice", "Practice", _practice))
add_export(Export("lineups", "Published lineups", _lineups))
add_export(Export("travel", "Posted travel lists", _travel))
add_export(Export("turns", "Turns, with everybody's share", _shares))
add_export(Export("turn-book", "The turn book, line by line", _turn_book))
