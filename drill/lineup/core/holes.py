"""Why a spot stays a hole, and what would cure it."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from enum import StrEnum
from itertools import islice

from drill.lineup.core.explain import try_solve
from drill.lineup.core.problem import Level, LineupProblem, Member, Seat, Skill
from drill.lineup.core.rules import Facts
from drill.lineup.core.solver import Limits, Lineup

TRIED_CURES = 5


class CureKind(StrEnum):
    """A single change that fills one hole more."""

    BACK = "a member is back"
    INSTRUMENT = "one more instrument"
    UNBLOCK = "a block is lifted"
    LESSON = "one lesson"


@dataclass(frozen=True, slots=True)
class Cure:
    """A single change with what it names, confirmed by solving."""

    kind: CureKind
    member: str = ""
    part: str = ""
    instrument: str = ""


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
    facts = Facts(problem)
    spots, members = _closure(facts, answer, seat)
    placed = {p.member for p in answer.placements if p.segment == seat[0] and p.member}
    cures = _verified(problem, answer, _cures(facts, seat, spots, placed, returnable), limits)
    return HoleReason(
        tuple((seat[0], spot) for spot in spots),
        members,
        tuple(m for m in members if m not in placed),
        tuple(cures),
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


Change = tuple[Cure, LineupProblem]


def _cures(
    facts: Facts, seat: Seat, spots: tuple[str, ...], placed: set[str], returnable: frozenset[str]
) -> Iterator[Change]:
    problem, segment = facts.problem, seat[0]
    parts = {facts.spots[s].part for s in spots}

    def with_member(changed: Member) -> LineupProblem:
        members = tuple(changed if m.key == changed.key else m for m in problem.members)
        return replace(problem, members=members)

    own_rank_first = sorted(
        problem.members, key=lambda m: (m.rank != facts.spots[seat[1]].rank, m.key)
    )
    back = (
        (Cure(CureKind.BACK, m.key), with_member(replace(m, away=m.away - {segment})))
        for m in own_rank_first
        if segment in m.away and m.key in returnable and any(s.part in parts for s in m.skills)
    )
    yield from islice(back, TRIED_CURES)
    for kind, count in problem.stock:
        stock = tuple((k, c + 1 if k == kind else c) for k, c in problem.stock)
        if count >= 0 and any(facts.parts[p].instrument == kind for p in parts):
            yield Cure(CureKind.INSTRUMENT, instrument=kind), replace(problem, stock=stock)
    for block in problem.blocks:
        blocks = tuple(b for b in problem.blocks if b is not block)
        yield Cure(CureKind.UNBLOCK, block.member), replace(problem, blocks=blocks)
    part = facts.spots[seat[1]].part
    lessons = (
        (
            Cure(CureKind.LESSON, m.key, part),
            with_member(replace(m, skills=(*m.skills, Skill(part)))),
        )
        for m in own_rank_first
        if segment not in m.away
        and m.key not in placed
        and m.standing is not None
        and all(s.part != part for s in m.skills)
    )
    yield from islice(lessons, TRIED_CURES)


def _verified(
    problem: LineupProblem, answer: Lineup, changes: Iterable[Change], limits: Limits
) -> Iterator[Cure]:
    for cure, changed in changes:
        other = try_solve(changed, limits)
        if other is not None and other.value(Level.HOLES) < answer.value(Level.HOLES):
            yield cure
