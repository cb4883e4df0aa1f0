"""Why the lineup is as it is: every claim is verified by solving the changed problem.

Codes and numbers only; the pages make the sentences.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace

from drill.lineup.core.changes import MemberChange, member_changes, seats_of
from drill.lineup.core.problem import Block, Level, LineupProblem, Origin, Pin, Seat
from drill.lineup.core.solver import ContradictoryPins, Limits, Lineup, NoLineup, OutOfWork, solve

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
    """The best lineup in which at most ``most`` people of each segment leave their reference
    seat."""
    other = try_solve(replace(problem, max_moved=most), limits)
    return compare(answer, other) if other else None


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
    blocks = (*problem.blocks, Block(placed.member, *seat))
    other = try_solve(replace(problem, blocks=blocks), limits)
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
