"""Who stands in the published lineup and has not come, from the call on."""

from __future__ import annotations

import datetime
import uuid
from collections import defaultdict
from dataclasses import dataclass, field

from drill.absences.services.late import late_until
from drill.gameday.services.desk import Desk
from drill.gameday.services.missing import word_of
from drill.lineup.core.problem import Seat
from drill.rehearsals.core.presence import Presence
from drill.rehearsals.services.attendance import places_at
from drill.rehearsals.services.presence import presence_word
from drill.rehearsals.services.rehearsals import is_open
from roster.people.models import Member
from roster.ranks import queries as rank_queries
from roster.ranks.models import Rank


@dataclass(frozen=True)
class NotHere:
    """A member, where they march in what is not over, and what is noted of them: 'not here',
    'left early', 'notes differ', or nothing."""

    member: Member
    seats: tuple[Seat, ...]
    word: str
    key: uuid.UUID = field(default_factory=uuid.uuid4)
    """of the note that they have come"""


@dataclass(frozen=True)
class StillLate:
    """A member who said that they come later, where they march then, and until when they are
    late."""

    member: Member
    seats: tuple[Seat, ...]
    until: datetime.datetime
    key: uuid.UUID = field(default_factory=uuid.uuid4)
    """of the note that they have come"""


@dataclass(frozen=True)
class RankNotHere:
    """A rank's people who have not come. Where nobody of it is ``noted`` its attendance was not
    taken."""

    rank: Rank
    people: tuple[NotHere, ...]
    noted: bool


def arrived(desk: Desk) -> dict[int, Presence]:
    """Member id -> what is noted of them; nobody before attendance is taken."""
    return desk.noted if is_open(desk.event) else {}


def not_here(desk: Desk) -> list[RankNotHere]:
    """By rank, whoever marches in what is not over and was not seen, or has gone again; without
    those known to be out or late. Nobody before the call, nor when all is over."""
    if not is_open(desk.event) or not desk.clock.left:
        return []
    noted = arrived(desk)
    rank_of = {member.pk: rank for rank, member, _ in places_at(desk.event)}
    late = {one.member.pk for one in still_late(desk)}
    people: dict[int, list[NotHere]] = defaultdict(list)
    for who, seats in _marching(desk).items():
        member = desk.built.members[who]
        found = noted.get(member.pk, Presence())
        if not found.is_here and member.pk in rank_of and member.pk not in late:
            rank = rank_of[member.pk]
            people[rank].append(NotHere(member, tuple(seats), presence_word(found)))
    taken = {rank_of[pk] for pk in noted if pk in rank_of}
    ranks = rank_queries.ranks(desk.event.season).filter(pk__in=people)
    return [RankNotHere(r, tuple(people[r.pk]), r.pk in taken) for r in ranks]


def still_late(desk: Desk) -> list[StillLate]:
    """Whoever said that they come later and was not seen yet, in what they march that is not
    over; who comes first before the rest."""
    marching, noted = _marching(desk), arrived(desk)
    until = late_until(desk.event, [desk.built.members[who] for who in marching])
    found = [
        StillLate(member, tuple(seats), until[member.pk])
        for who, seats in marching.items()
        if (member := desk.built.members[who]).pk in until
        and not noted.get(member.pk, Presence()).is_here
    ]
    return sorted(found, key=lambda one: one.until)


def _marching(desk: Desk) -> dict[str, list[Seat]]:
    """Member -> their seats in what is not over, but where they are out, in printing order."""
    order = {spot: number for number, spot in enumerate(desk.built.spots)}
    found: dict[str, list[Seat]] = defaultdict(list)
    for seat in sorted(desk.field.seats, key=lambda s: (order.get(s[1], 0), s)):
        who = desk.field.seats[seat]
        if not who or who not in desk.built.members or seat[0] not in desk.clock.keys:
            continue
        if word_of(desk.built, who, seat[0]) != "out":
            found[who].append(seat)
    return found
