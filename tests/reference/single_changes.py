"""Every single change that fills a hole of a tiny problem, by looking at every lineup there is."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from drill.lineup.core.cure import Cure, CureKind
from drill.lineup.core.problem import LineupProblem, Member, Pin, Seat, Skill
from tests.reference import evaluate
from tests.reference.brute_force import brute_force


def single_changes(
    problem: LineupProblem, seat: Seat, parts: set[str]
) -> Iterator[tuple[Cure, LineupProblem]]:
    """All of them: anybody who is away may come back, anybody else may learn one of the parts."""
    segment, _ = seat
    for member in problem.members:
        if segment in member.away:
            back = replace(member, away=member.away - {segment})
            yield Cure(CureKind.BACK, member.key, segment=segment), _with(problem, back)
            continue
        for part in parts - {skill.part for skill in member.skills}:
            taught = replace(member, skills=(*member.skills, Skill(part)))
            yield Cure(CureKind.LESSON, member.key, part), _with(problem, taught)
    for member in problem.members:
        for lack in member.lacks:
            owns = replace(member, lacks=tuple(k for k in member.lacks if k != lack))
            yield Cure(CureKind.PIECE, member.key, piece=lack.kind), _with(problem, owns)
    for kind, count in problem.stock:
        stock = dict(problem.stock) | {kind: count + 1}
        cure = Cure(CureKind.INSTRUMENT, instrument=kind)
        yield cure, replace(problem, stock=tuple(stock.items()))
    if problem.travel_limit is not None:
        yield Cure(CureKind.TRAVEL), replace(problem, travel_limit=problem.travel_limit + 1)
    for pin in problem.pins:
        cure = Cure(CureKind.UNPIN, pin.member, segment=pin.segment, spot=pin.spot)
        yield cure, replace(problem, pins=tuple(p for p in problem.pins if p != pin))
    for block in problem.blocks:
        cure = Cure(
            CureKind.UNBLOCK, block.member, segment=block.segment or "", spot=block.spot or ""
        )
        yield cure, replace(problem, blocks=tuple(b for b in problem.blocks if b != block))
    for spot in problem.spots:
        if spot.needs_experience:
            open_to_all = replace(spot, needs_experience=False)
            spots = tuple(open_to_all if s.key == spot.key else s for s in problem.spots)
            yield Cure(CureKind.NEWCOMER, spot=spot.key), replace(problem, spots=spots)


def _with(problem: LineupProblem, member: Member) -> LineupProblem:
    members = tuple(member if m.key == member.key else m for m in problem.members)
    return replace(problem, members=members)


def can_fill(problem: LineupProblem, seats: list[Seat]) -> bool:
    """Whether a lineup fills all of the seats."""
    if not seats:
        return brute_force(problem) is not None
    pinned = {(p.segment, p.spot): p.member for p in problem.pins}
    first, *rest = seats
    if first in pinned:
        return can_fill(problem, rest)
    taken = {m for (g, _), m in pinned.items() if g == first[0]}
    return any(
        can_fill(replace(problem, pins=(*problem.pins, Pin(*first, m.key))), rest)
        for m in problem.members
        if m.key not in taken and evaluate.may_march(problem, m, first)
    )


def cures_by_looking(
    problem: LineupProblem, seat: Seat, parts: set[str], filled: list[Seat]
) -> set[Cure]:
    """The changes after which a lineup fills the seat and those that are filled."""
    return {
        cure
        for cure, changed in single_changes(problem, seat, parts)
        if can_fill(changed, [seat, *filled])
    }
