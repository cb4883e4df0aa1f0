"""Why a spot stays a hole, and what would cure it."""

from __future__ import annotations

from dataclasses import dataclass

from drill.lineup.core.cure import Cure
from drill.lineup.core.cures import Stuck, cures
from drill.lineup.core.problem import LineupProblem, Seat
from drill.lineup.core.rules import Facts
from drill.lineup.core.solver import Limits, Lineup


@dataclass(frozen=True, slots=True)
class HoleReason:
    """The spots that compete and the members who can march any of them (Hall's condition).

    ``free`` are members among them who stand nowhere: then a side rule (stock, travel) binds.
    """

    spots: tuple[Seat, ...]
    members: tuple[str, ...]
    free: tuple[str, ...]
    cures: tuple[Cure, ...]


def why_hole(
    problem: LineupProblem,
    answer: Lineup,
    seat: Seat,
    returnable: frozenset[str],
    limits: Limits = Limits(),
) -> HoleReason:
    """Why nobody fills the seat. ``returnable`` are the only members whose return may be named:
    never those who are not cleared or not eligible."""
    spots, members = _closure(Facts(problem), answer, seat)
    placed = {p.member for p in answer.placements if p.segment == seat[0] and p.member}
    return HoleReason(
        tuple((seat[0], spot) for spot in spots),
        members,
        tuple(m for m in members if m not in placed),
        cures(problem, answer, Stuck(seat, spots, members, returnable), limits),
    )


def _closure(facts: Facts, answer: Lineup, seat: Seat) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """Spots and members reachable from the hole by alternating arcs, in the hole's segment."""
    segment = seat[0]
    stands = {p.member: p.spot for p in answer.placements if p.segment == segment and p.member}
    spots, members, queue = {seat[1]}, set[str](), [seat[1]]
    while queue:
        spot = facts.spots[queue.pop()]
        for member in facts.problem.members:
            if member.key in members or facts.why_not(member, segment, spot):
                continue
            members.add(member.key)
            other = stands.get(member.key)
            if other is not None and other not in spots:
                spots.add(other)
                queue.append(other)
    return tuple(sorted(spots)), tuple(sorted(members))
