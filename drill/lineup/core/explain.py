"""Why the lineup is as it is: every claim is verified by solving the changed problem.

Codes and numbers only; the pages make the sentences.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from enum import StrEnum
from itertools import islice

from drill.lineup.core.changes import MemberChange, member_changes, seats_of
from drill.lineup.core.check import is_own_alternate
from drill.lineup.core.problem import (
    Bar,
    Level,
    LineupProblem,
    Member,
    Origin,
    Pin,
    Seat,
    Skill,
    Spot,
    of_segment,
)
from drill.lineup.core.rules import Facts, WhyNot
from drill.lineup.core.solver import ContradictoryPins, Limits, Lineup, NoLineup, OutOfWork, solve
from drill.lineup.core.solver.result import LevelResult

TRIED_CURES = 5

Price = tuple[tuple[Level, int], ...]
"""Difference at each level that differs, earlier levels first."""


@dataclass(frozen=True, slots=True)
class Alternative:
    """Another lineup beside the answer, what it costs more and what else moves."""

    lineup: Lineup
    price: Price
    changes: tuple[MemberChange, ...]

    @property
    def decided_at(self) -> Level | None:
        """The level at which the answer wins; None when they are equal."""
        return self.price[0][0] if self.price else None


@dataclass(frozen=True, slots=True)
class StandInReason:
    """Who would march the seat otherwise (None: nobody), and what that would cost."""

    runner_up: str | None
    price: Price

    @property
    def decided_at(self) -> Level | None:
        return self.price[0][0] if self.price else None


class CureKind(StrEnum):
    """A single change that fills one hole more."""

    BACK = "a member is back"
    INSTRUMENT = "one more instrument"
    UNBAR = "a bar is lifted"
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


@dataclass(frozen=True, slots=True)
class Candidate:
    """A member for a seat: why not, or the price of putting them there and what else moves."""

    member: str
    why_not: tuple[WhyNot, ...]
    stands_at: str | None
    alternative: Alternative | None = None


def try_solve(problem: LineupProblem, limits: Limits) -> Lineup | None:
    """The lineup, or None when the problem contradicts itself."""
    try:
        return solve(problem, limits=limits)
    except (ContradictoryPins, NoLineup, OutOfWork):
        return None


def compare(answer: Lineup, other: Lineup) -> Alternative:
    """The other lineup measured against the answer; the tie level is left out."""
    price = tuple(
        (level, other.value(level) - answer.value(level))
        for level in Level
        if level is not Level.TIE and other.value(level) != answer.value(level)
    )
    changes = member_changes(seats_of(answer.placements), seats_of(other.placements))
    return Alternative(other, price, changes)


def with_moves(
    problem: LineupProblem, answer: Lineup, most: int, limits: Limits = Limits()
) -> Alternative | None:
    """The best lineup in which at most ``most`` people leave their reference seat: in each
    segment, or in all together where a travel limit couples the segments."""
    if problem.travel_limit is not None:
        other = try_solve(replace(problem, max_moved=most), limits)
        return compare(answer, other) if other else None
    parts = []
    for segment in problem.segments:
        alone = replace(of_segment(problem, segment.key), max_moved=most)
        part = try_solve(alone, limits)
        if part is None:
            return None
        parts.append(part)
    return compare(answer, _joined(parts)) if parts else None


def _joined(parts: list[Lineup]) -> Lineup:
    """Lineups of different segments as one; levels add up."""
    levels = tuple(
        LevelResult(
            level,
            sum(part.value(level) for part in parts),
            _sum_or_none([r.bound for part in parts for r in part.levels if r.level is level]),
            all(r.proven for part in parts for r in part.levels if r.level is level),
        )
        for level in Level
    )
    placements = tuple(p for part in parts for p in part.placements)
    return Lineup(placements, levels, parts[0].stage)


def _sum_or_none(bounds: list[int | None]) -> int | None:
    known = [b for b in bounds if b is not None]
    return sum(known) if len(known) == len(bounds) else None


def if_away(
    problem: LineupProblem,
    answer: Lineup,
    member: str,
    segments: Iterable[str],
    limits: Limits = Limits(),
) -> Alternative | None:
    """The best lineup if the member were away too; pins on them fall with them."""
    gone = frozenset(segments)
    members = tuple(
        replace(m, away=m.away | gone) if m.key == member else m for m in problem.members
    )
    pins = tuple(p for p in problem.pins if p.member != member or p.segment not in gone)
    other = try_solve(replace(problem, members=members, pins=pins), limits)
    return compare(answer, other) if other else None


def why_stand_in(
    problem: LineupProblem, answer: Lineup, seat: Seat, limits: Limits = Limits()
) -> StandInReason | None:
    """The runner-up for a stand-in's seat; None when the seat is empty or pinned."""
    placed = answer.at(*seat)
    if placed.member is None or placed.origin is Origin.PINNED:
        return None
    bars = (*problem.bars, Bar(placed.member, *seat))
    other = try_solve(replace(problem, bars=bars), limits)
    if other is None:
        return None
    return StandInReason(other.at(*seat).member, compare(answer, other).price)


def why_moved(
    problem: LineupProblem, answer: Lineup, seat: Seat, member: str, limits: Limits = Limits()
) -> Alternative | None:
    """What it would cost to leave the member in their reference seat."""
    pins = (*(p for p in problem.pins if (p.segment, p.spot) != seat), Pin(*seat, member))
    other = try_solve(replace(problem, pins=pins), limits)
    return compare(answer, other) if other else None


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


def candidates(
    problem: LineupProblem, answer: Lineup, seat: Seat, limits: Limits = Limits(), most: int = 8
) -> tuple[Candidate, ...]:
    """Members for a seat: those who may march it, best first, priced by solving with a pin, then
    those of the spot's part and rank who may not, with the reasons."""
    segment, key = seat
    facts = Facts(problem)
    spot = facts.spots[key]
    stands = {p.member: p.spot for p in answer.placements if p.segment == segment and p.member}
    able, unable = [], []
    for member in problem.members:
        reasons = facts.why_not(member, segment, spot)
        if not reasons:
            able.append(member)
        elif WhyNot.NOT_QUALIFIED not in reasons or _belongs(member, spot):
            unable.append(Candidate(member.key, reasons, stands.get(member.key)))
    order = {c.member: c.order for c in problem.covers if c.spot == key}

    def nearness(member: Member) -> tuple[object, ...]:
        return (
            stands.get(member.key) != key,
            order.get(member.key, 99),
            not is_own_alternate(member, spot),
            member.key in stands,
            member.rank != spot.rank,
            member.standing or 0,
            member.key,
        )

    ranked = sorted(able, key=nearness)
    found = []
    for number, member in enumerate(ranked):
        priced = number < most and stands.get(member.key) != key
        alternative = why_moved(problem, answer, seat, member.key, limits) if priced else None
        found.append(Candidate(member.key, (), stands.get(member.key), alternative))
    return (*found, *unable)


def _belongs(member: Member, spot: Spot) -> bool:
    return member.rank == spot.rank and member.standing is not None


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
    for bar in problem.bars:
        bars = tuple(b for b in problem.bars if b is not bar)
        yield Cure(CureKind.UNBAR, bar.member), replace(problem, bars=bars)
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
