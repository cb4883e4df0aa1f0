"""What a phone keeps of the desk, so that it can queue a fill without network."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from django.urls import reverse

from bandops.lib.keys import key
from drill.gameday.core.fills import Choice, seats_of_member
from drill.gameday.services import desk as gameday
from drill.gameday.services.desk import Desk
from drill.gameday.services.dressing import Dressing
from drill.gameday.services.missing import word_of
from drill.gameday.services.openings import open_spots
from drill.gameday.wording import seat_words
from drill.lineup.core.problem import Seat
from drill.lineup.wording import Names
from roster.people.models import Member

MOST_CHOICES = 5


def kept_choices(opened: Desk, standing: Iterable[Member], names: Names) -> dict[str, Any]:
    """Ids, names and the first choices: for whoever stands there, and for every open spot."""
    people, dressing = {m.pk: m for m in standing}, Dressing(opened)
    outs = {pk: _out(opened, m, names, dressing) for pk, m in people.items()}
    opens = {str(o.spot.pk): _open(opened, o.spot.pk, names, dressing) for o in open_spots(opened)}
    used = {c[0] for one in (*outs.values(), *opens.values()) for c in one["choices"]}
    people |= {m.pk: m for m in opened.built.members.values() if m.pk in used}
    return {
        "event": opened.event.pk,
        "number": opened.lineup.number,
        "fill": reverse("desk-fill", args=[opened.event.pk]),
        "segments": {s.pk: s.name for s in opened.clock.left},
        "names": {pk: m.name for pk, m in people.items()},
        "outs": outs,
        "opens": opens,
    }


def _out(opened: Desk, member: Member, names: Names, dressing: Dressing) -> dict[str, Any]:
    """``missing`` are the segments in which the member is not there: those are asked about."""
    who = key(member.pk)
    seats = seats_of_member(opened.field, who, opened.clock.keys)
    missing = [g for g in sorted(opened.clock.keys) if word_of(opened.built, who, g)]
    gone = tuple(seat for seat in seats if seat[0] in missing)
    return {
        "missing": [int(segment) for segment in missing],
        "choices": _first(opened, seats, gone or seats, who, names, dressing),
    }


def _open(opened: Desk, spot: int, names: Names, dressing: Dressing) -> dict[str, Any]:
    seats = gameday.open_seats_of(opened, spot, opened.clock.keys)
    return {
        "label": names.spot(key(spot)),
        "segments": [int(segment) for segment, _ in seats],
        "choices": _first(opened, seats, seats, None, names, dressing),
    }


def _first(
    opened: Desk,
    seats: tuple[Seat, ...],
    asked: tuple[Seat, ...],
    out: str | None,
    names: Names,
    dressing: Dressing,
) -> list[list[Any]]:
    """[member, [[segment, what stays open there]]] of the first choices for the seats asked about;
    what stays open is said of all seats, as more segments may be chosen. Only who is dressed."""
    found = gameday.direct_choices_for(opened, seats, out)
    first = found if asked == seats else gameday.direct_choices_for(opened, asked, out)
    first = [
        c for c in first if not dressing.lacks(c.member, [(m.segment, m.spot) for m in c.moves])
    ]
    of_all = {c.member: c for c in found}
    return [[int(c.member), _lacking(of_all[c.member], names)] for c in first[:MOST_CHOICES]]


def _lacking(choice: Choice, names: Names) -> list[list[Any]]:
    return [[int(seat[0]), seat_words(seat, names)] for seat in choice.lacking]
