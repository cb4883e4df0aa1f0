"""The whole field in a set, with who marches in a lineup."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass

from drill.events.models import Event
from drill.field.services.writing import writer_of
from drill.lineup.sheets import Seat
from drill.shows.models import Position, ShowVersion
from drill.shows.pictures.picture import Picture
from drill.shows.pictures.shown import DrawnDot

Places = dict[str, tuple[int, int]]
"""dot -> where it stands in a set (1/32 inch)"""


def places_in(version: ShowVersion, set_label: str) -> Places:
    """Where the dots stand in a set."""
    rows = Position.objects.filter(set__version=version, set__label=set_label)
    return {label: (x, y) for label, x, y in rows.values_list("dot__label", "x", "y")}


def set_picture(
    event: Event,
    version: ShowVersion,
    set_label: str,
    at: Places,
    seats: dict[int, str],
    spots: dict[int, str],
) -> Picture | None:
    """A set with the lineup on it; None where no dot stands in it. ``at``: where each does;
    ``seats``: spot id -> mark; ``spots``: spot id -> dot."""
    if not at:
        return None
    closed = [spots[spot] for spot, mark in seats.items() if mark == "closed-up"]
    groups: dict[str, list[DrawnDot]] = defaultdict(list)
    for spot, mark in seats.items():
        if spots[spot] in at and mark != "closed-up":
            dot = DrawnDot(*at[spots[spot]], spots[spot])
            kind, *more = mark.split()
            if "doubtful" in more:
                groups["doubtful"].append(dot)
            if kind != "holder" or not more:
                groups[kind].append(dot)
    writer = writer_of(event.season, event.field_type)
    return Picture(
        writer.kind,
        tuple(groups["holder"]),
        tuple(groups["stand-in"]),
        tuple(groups["hole"]),
        title=f"{version.show}, set {set_label}",
        opens=tuple(groups["left-open"]),
        doubtful=tuple(groups["doubtful"]),
        pale=True,
        closed=_where_they_stood(version, set_label, closed) if closed else (),
        from_field=writer.style.from_field,
    )


@dataclass(frozen=True)
class DotLink:
    """Where a seat's dot is drawn, in picture units."""

    seat: Seat
    x: int
    y: int


def dot_links(
    picture: Picture, at: Places, seats: Iterable[Seat], spots: dict[int, str]
) -> tuple[DotLink, ...]:
    """The dots of the seats that stand in the set, those with a mark last: they lie on top."""
    standing = [seat for seat in seats if spots[seat.row.spot_id] in at]
    standing.sort(key=lambda seat: seat.mark != "holder")
    return tuple(DotLink(seat, *picture.place(*at[spots[seat.row.spot_id]])) for seat in standing)


def _where_they_stood(
    version: ShowVersion, set_label: str, dots: list[str]
) -> tuple[DrawnDot, ...]:
    """The dots in the set, by the newest of the versions before in which they stand."""
    own = ShowVersion.objects.filter(show=version.show_id, is_variant=True)
    bases = {pk: (change or {}).get("base") for pk, change in own.values_list("pk", "change")}
    chain, base = [], bases.get(version.pk)
    while base and base not in chain:
        chain.append(base)
        base = bases.get(base)
    rows = Position.objects.filter(
        set__version__in=chain, set__label=set_label, dot__label__in=dots
    )
    stood = {
        (pk, label): DrawnDot(x, y, label)
        for pk, label, x, y in rows.values_list("set__version", "dot__label", "x", "y")
    }
    found = (next((stood[pk, p] for pk in chain if (pk, p) in stood), None) for p in dots)
    return tuple(dot for dot in found if dot)
