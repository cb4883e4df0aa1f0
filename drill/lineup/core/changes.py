"""What differs between two lineups, by seat and by member."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from enum import StrEnum

from drill.lineup.core.problem import Placement, Seat


class Change(StrEnum):
    """What happened to a member in a segment."""

    STEPS_IN = "steps in"
    MOVES = "moves"
    STEPS_OUT = "steps out"


@dataclass(frozen=True, slots=True)
class MemberChange:
    """One member's change in one segment; ``before`` and ``after`` are spots."""

    segment: str
    member: str
    change: Change
    before: str | None
    after: str | None


@dataclass(frozen=True, slots=True)
class SeatChange:
    """One seat whose member differs."""

    segment: str
    spot: str
    before: str | None
    after: str | None


def seats_of(placements: Iterable[Placement]) -> dict[Seat, str | None]:
    """Seat -> member."""
    return {(p.segment, p.spot): p.member for p in placements}


def seat_changes(
    before: Mapping[Seat, str | None], after: Mapping[Seat, str | None]
) -> tuple[SeatChange, ...]:
    """Seats of either whose member differs, in order of the seats."""
    return tuple(
        SeatChange(*seat, before.get(seat), after.get(seat))
        for seat in sorted(before.keys() | after.keys())
        if before.get(seat) != after.get(seat)
    )


def member_changes(
    before: Mapping[Seat, str | None], after: Mapping[Seat, str | None]
) -> tuple[MemberChange, ...]:
    """What changes for each member, in order of segment and member."""
    was = {(segment, m): spot for (segment, spot), m in before.items() if m}
    now = {(segment, m): spot for (segment, spot), m in after.items() if m}
    found = []
    for segment, member in sorted(was.keys() | now.keys()):
        old, new = was.get((segment, member)), now.get((segment, member))
        if old == new:
            continue
        kind = Change.STEPS_IN if old is None else Change.STEPS_OUT if new is None else Change.MOVES
        found.append(MemberChange(segment, member, kind, old, new))
    return tuple(found)
