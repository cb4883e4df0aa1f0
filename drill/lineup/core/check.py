"""The independent checker: knows the rules and no solver, and passes on every saved lineup."""

from __future__ import annotations

import hashlib
from collections import Counter
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from enum import StrEnum

from drill.lineup.core.problem import (
    MAX_COVER_ORDER,
    MAX_RELEARNING,
    MAX_STANDING,
    MAX_TURNS,
    Level,
    LineupProblem,
    Member,
    Origin,
    Placement,
    Spot,
)
from drill.lineup.core.rules import Facts

COVER_CLASS_SIZE = 128
OWN_RANK_CLASS = MAX_COVER_ORDER + 1
OTHER_CLASS = MAX_COVER_ORDER + 2
MOVED_WITHIN, MOVED_ACROSS, MOVED_OFF = 2, 3, 2


class Rule(StrEnum):
    """The rules a lineup can break."""

    UNKNOWN = "unknown seat or member"
    MISSING = "a seat is missing"
    TWICE_SEAT = "two rows for one seat"
    TWICE_MEMBER = "one member in two seats"
    MAY_NOT_MARCH = "may not march"
    PIN = "a pin is not kept"
    ORIGIN = "the origin does not fit"
    STOCK = "more instruments than there are"
    TRAVEL = "more people than may travel"
    MOVED = "more people moved than allowed"


@dataclass(frozen=True, slots=True)
class Violation:
    """One broken rule; ``detail`` carries the reason codes or the count."""

    rule: Rule
    segment: str = ""
    spot: str = ""
    member: str = ""
    detail: str = ""


def violations(problem: LineupProblem, placements: Iterable[Placement]) -> tuple[Violation, ...]:
    """Every rule the placements break, in the order of the placements; empty when all is well."""
    rows = tuple(placements)
    facts = Facts(problem)
    found = list(_shape_faults(facts, rows))
    if any(v.rule is Rule.UNKNOWN for v in found):
        return tuple(found)
    found += _row_faults(facts, rows)
    found += _pin_faults(facts, rows)
    found += _stock_faults(facts, rows)
    found += _people_faults(facts, rows)
    return tuple(found)


def level_values(problem: LineupProblem, placements: Iterable[Placement]) -> dict[Level, int]:
    """Each level's value, computed from the rules alone."""
    rows = tuple(placements)
    facts = Facts(problem)
    stood = [
        (row, facts.members[row.member], facts.spots[row.spot])
        for row in rows
        if row.member is not None
    ]
    stand_ins = [(m, s) for _, m, s in stood if m.holds != s.key]
    learners = {m.key for m, _ in stand_ins}
    relearning = {(m, s): cost for m, s, cost in problem.relearning if m in learners}
    return {
        Level.HOLES: _holes(facts, rows),
        Level.LEADERLESS: _leaderless(facts, rows),
        Level.MOVED: sum(_moved(facts, rows).values()),
        Level.STANDING: sum(standing_cost(facts, m, s) for m, s in stand_ins),
        Level.RELEARNING: sum(
            min(relearning.get((m.key, s.key), 0), MAX_RELEARNING) for m, s in stand_ins
        ),
        Level.FAIRNESS: sum(fairness_cost(problem, m) for m, _ in stand_ins),
        Level.TIE: sum(tie_cost(problem.settings.salt, m.key, s.key) for _, m, s in stood),
    }


def standing_cost(facts: Facts, member: Member, spot: Spot) -> int:
    """Covers in their order, then the own rank's alternates, then others."""
    order = facts.cover_order.get((spot.key, member.key))
    if order is not None:
        return min(order, MAX_COVER_ORDER) * COVER_CLASS_SIZE
    if not is_own_alternate(member, spot):
        return OTHER_CLASS * COVER_CLASS_SIZE
    fair = facts.problem.settings.fairness_before_standing
    return OWN_RANK_CLASS * COVER_CLASS_SIZE + (_turns(member) if fair else _standing(member))


def is_own_alternate(member: Member, spot: Spot) -> bool:
    """True when the member is an alternate of the spot's own rank and part."""
    return (
        member.standing is not None
        and member.rank == spot.rank
        and member.standing_part == spot.part
    )


def fairness_cost(problem: LineupProblem, member: Member) -> int:
    """Turns marched in percent, or the standing where the band lets fairness go first."""
    if problem.settings.fairness_before_standing:
        return _standing(member)
    return _turns(member)


def tie_cost(salt: int, member: str, spot: str) -> int:
    """A stable 20-bit number of the pair, so that the answer is unique."""
    return int(hashlib.sha256(f"{salt}|{member}|{spot}".encode()).hexdigest()[:5], 16)


def _standing(member: Member) -> int:
    return MAX_STANDING if member.standing is None else min(member.standing, MAX_STANDING)


def _turns(member: Member) -> int:
    return min(max(member.turns, 0), MAX_TURNS)


def _shape_faults(facts: Facts, rows: tuple[Placement, ...]) -> Iterator[Violation]:
    seat_count = Counter((row.segment, row.spot) for row in rows)
    for row in rows:
        known = (row.segment, row.spot) in facts.seats
        if not known or (row.member is not None and row.member not in facts.members):
            yield Violation(Rule.UNKNOWN, row.segment, row.spot, row.member or "")
    for (segment, spot), count in seat_count.items():
        if count > 1:
            yield Violation(Rule.TWICE_SEAT, segment, spot, detail=str(count))
    for segment, spot in sorted(facts.seats - set(seat_count)):
        yield Violation(Rule.MISSING, segment, spot)


def _row_faults(facts: Facts, rows: tuple[Placement, ...]) -> Iterator[Violation]:
    member_count = Counter((row.segment, row.member) for row in rows if row.member)
    for row in rows:
        if row.member is None:
            open_seat = (row.segment, row.spot) in facts.problem.left_open
            if row.origin is not (Origin.LEFT_OPEN if open_seat else Origin.HOLE):
                yield Violation(Rule.ORIGIN, row.segment, row.spot, detail=row.origin)
            continue
        member, spot = facts.members[row.member], facts.spots[row.spot]
        if reasons := facts.why_not(member, row.segment, spot):
            yield Violation(
                Rule.MAY_NOT_MARCH, row.segment, row.spot, row.member, ",".join(reasons)
            )
        if member_count[row.segment, row.member] > 1:
            yield Violation(Rule.TWICE_MEMBER, row.segment, row.spot, row.member)
        if row.origin in (Origin.HOLE, Origin.LEFT_OPEN):
            yield Violation(Rule.ORIGIN, row.segment, row.spot, row.member, row.origin)


def _pin_faults(facts: Facts, rows: tuple[Placement, ...]) -> Iterator[Violation]:
    stood = {(row.segment, row.spot): row.member for row in rows}
    for pin in facts.problem.pins:
        if stood.get((pin.segment, pin.spot)) != pin.member:
            yield Violation(Rule.PIN, pin.segment, pin.spot, pin.member)


def _stock_faults(facts: Facts, rows: tuple[Placement, ...]) -> Iterator[Violation]:
    used: Counter[tuple[str, str]] = Counter()
    for row in rows:
        if row.member is not None:
            kind = facts.stock_kind(facts.members[row.member], facts.spots[row.spot])
            if kind is not None:
                used[row.segment, kind] += 1
    stock = dict(facts.problem.stock)
    for (segment, kind), count in sorted(used.items()):
        if kind in stock and count > stock[kind]:
            yield Violation(Rule.STOCK, segment, detail=f"{kind}:{count}>{stock[kind]}")


def _people_faults(facts: Facts, rows: tuple[Placement, ...]) -> Iterator[Violation]:
    problem = facts.problem
    if problem.travel_limit is not None:
        people = {row.member for row in rows if row.member}
        people |= {m.key for m in problem.members if m.must_travel}
        if len(people) > problem.travel_limit:
            yield Violation(Rule.TRAVEL, detail=f"{len(people)}>{problem.travel_limit}")
    if problem.max_moved is not None:
        moved = sum(1 for cost in _moved(facts, rows).values() if cost)
        if moved > problem.max_moved:
            yield Violation(Rule.MOVED, detail=f"{moved}>{problem.max_moved}")


def _holes(facts: Facts, rows: tuple[Placement, ...]) -> int:
    weighted = facts.problem.settings.use_weights
    return sum(
        facts.spots[row.spot].weight if weighted else 1
        for row in rows
        if row.member is None and (row.segment, row.spot) not in facts.problem.left_open
    )


def _leaderless(facts: Facts, rows: tuple[Placement, ...]) -> int:
    on_field: set[tuple[str, str, str | None]] = {
        (row.segment, facts.spots[row.spot].rank, row.member) for row in rows
    }
    marching = {
        (row.segment, facts.spots[row.spot].rank)
        for row in rows
        if (row.segment, row.spot) not in facts.problem.left_open
    }
    leaders = {rank.key: rank.leaders for rank in facts.problem.ranks if rank.leaders}
    return sum(
        1
        for segment, rank in marching
        if rank in leaders
        and not any((segment, rank, leader) in on_field for leader in leaders[rank])
    )


def _moved(facts: Facts, rows: tuple[Placement, ...]) -> dict[tuple[str, str], int]:
    """(member, segment) -> cost of leaving the reference seat, for all who could have stayed."""
    stands = {(row.member, row.segment): row.spot for row in rows if row.member}
    costs = {}
    for (segment, spot), key in facts.problem.reference:
        member = facts.members.get(key)
        if (
            member is None
            or segment in member.away
            or (segment, spot) in facts.problem.left_open
            or (segment, spot) not in facts.seats
        ):
            continue
        now = stands.get((key, segment))
        if now is None:
            costs[key, segment] = MOVED_OFF
        elif now == spot:
            costs[key, segment] = 0
        else:
            same = facts.spots[now].rank == facts.spots[spot].rank
            costs[key, segment] = MOVED_WITHIN if same else MOVED_ACROSS
    return costs
