"""What a phone keeps of the desk, so that it can queue a fill without network."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from django.urls import reverse

from bandops.lib.keys import key
from drill.gameday.core.fills import Choice, seats_of_member
from drill.gameday.services import desk as gameday
from drill.gameday.services.desk import Desk
from drill.gameday.services.openings import open_spots
from drill.gameday.wording import seat_words
from drill.lineup.wording import Names
from roster.people.models import Member

MOST_CHOICES = 5


def kept_choices(opened: Desk, standing: Iterable[Member], names: Names) -> dict[str, Any]:
    """Ids, names and the first choices: for whoever stands there, and for every open spot."""
    people = {m.pk: m for m in standing}
    outs = {pk: _out(opened, m, names) for pk, m in people.items()}
    opens = {str(o.spot.pk): _open(opened, o.spot.pk, names) for o in open_spots(opened)}
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


def _out(opened: Desk, member: Member, names: Names) -> dict[str, Any]:
    seats = seats_of_member(opened.field, key(member.pk), opened.clock.keys)
    return {"choices": _first(gameday.direct_choices_for(opened, seats, key(member.pk)), names)}


def _open(opened: Desk, spot: int, names: Names) -> dict[str, Any]:
    seats = gameday.open_seats_of(opened, spot, opened.clock.keys)
    return {
        "label": names.spot(key(spot)),
        "segments": [int(segment) for segment, _ in seats],
        "choices": _first(gameday.direct_choices_for(opened, seats, None), names),
    }


def _first(found: list[Choice], names: Names) -> list[list[Any]]:
    """[member, what stays open] of the first choices."""
    first = found[:MOST_CHOICES]
    return [[int(c.member), ", ".join(seat_words(s, names) for s in c.lacking)] for c in first]
