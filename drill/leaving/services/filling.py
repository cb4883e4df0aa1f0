"""Seats that their members lost, and the nearest free member for each."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass

from bandops.lib.keys import key
from drill.gameday.core.fills import Choice, Field, direct_choices
from drill.gameday.services.desk import learning_of
from drill.lineup.core.changes import seats_of
from drill.lineup.core.problem import Placement, Seat
from drill.lineup.models import Lineup
from drill.lineup.services.problem_builder import Built
from drill.publishing.services.revising import changed, new_faults
from drill.rehearsals.core.presence import ABSENT
from drill.rehearsals.services.presence import presences
from roster.people.enums import MemberStatus
from roster.people.models import Member

Lost = Mapping[str, list[Seat]]
"""member -> the seats they lose"""


@dataclass(frozen=True)
class Filled:
    """Seat -> who marches it now; None where nobody is free."""

    seats: dict[Seat, str | None]


def lost_seats(
    lineup: Lineup, members: Iterable[Member], over: Collection[int] = ()
) -> dict[str, list[Seat]]:
    """The seats of a lineup that some members stand in and may not march any more: they take no
    part, are not cleared or eligible that day, or do not play the spot's part. Nobody loses what
    they marched in segments that are ``over``."""
    known = {member.pk: member for member in members}
    rows = lineup.rows.filter(member__in=known).exclude(segment__in=over).select_related("spot")
    found: dict[str, list[Seat]] = {}
    for row in rows.order_by("segment__order", "segment_id", "spot_id"):
        member = known[row.member_id or 0]
        plays = {q.part_id for q in member.qualifications.all()}
        active = member.status == MemberStatus.ACTIVE
        if not (active and member.may_march_on(lineup.event.date) and row.spot.part_id in plays):
            seat = (key(row.segment_id), key(row.spot_id))
            found.setdefault(key(member.pk), []).append(seat)
    return found


def filled(built: Built, before: tuple[Placement, ...], lost: Lost) -> Filled:
    """Each lost seat with the nearest free member who breaks no rule there: one for all of a
    member's seats where one can march them all, else as few as it takes."""
    after: dict[Seat, str | None] = {seat: None for seats in lost.values() for seat in seats}
    missed = _missed(built)
    for member, seats in lost.items():
        left = tuple(sorted(seats))
        while left:
            choice = _first_that_fits(built, before, after, left, member, missed)
            if choice is None:
                break
            after |= {(move.segment, move.spot): move.member for move in choice.moves}
            left = choice.lacking
    return Filled(after)


def _missed(built: Built) -> frozenset[str]:
    """Whom the attendance says are not here: they cannot step in."""
    noted = presences([built.event]).items()
    return frozenset(key(member) for (_, member), found in noted if found.state == ABSENT)


def _first_that_fits(
    built: Built,
    before: tuple[Placement, ...],
    after: Mapping[Seat, str | None],
    seats: tuple[Seat, ...],
    out: str,
    missed: Collection[str],
) -> Choice | None:
    standing = seats_of(changed(built, before, after))
    field = Field(built.problem, standing, learning_of(built))
    for choice in direct_choices(field, seats, out):
        if choice.member in missed:
            continue
        wanted = {(move.segment, move.spot): move.member for move in choice.moves}
        if not new_faults(built, before, changed(built, before, {**after, **wanted})):
            return choice
    return None
