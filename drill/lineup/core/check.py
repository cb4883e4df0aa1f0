"""The independent checker: knows the rules and no solver, and passes on every saved lineup."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from enum import StrEnum

from drill.lineup.core.dressing import undressed
from drill.lineup.core.level_values import moved_cost
from drill.lineup.core.problem import LineupProblem, Origin, Placement
from drill.lineup.core.rules import Facts


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
    DRESS = "fewer spare pieces than are needed"
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
    found += _dress_faults(facts, rows)
    found += _people_faults(facts, rows)
    return tuple(found)


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


def _dress_faults(facts: Facts, rows: tuple[Placement, ...]) -> Iterator[Violation]:
    for kind, members in undressed(facts, rows).items():
        for member in members:
            yield Violation(Rule.DRESS, member=member, detail=kind)


def _people_faults(facts: Facts, rows: tuple[Placement, ...]) -> Iterator[Violation]:
    problem = facts.problem
    if problem.travel_limit is not None:
        people = {row.member for row in rows if row.member}
        people |= {m.key for m in problem.members if m.must_travel}
        if len(people) > problem.travel_limit:
            yield Violation(Rule.TRAVEL, detail=f"{len(people)}>{problem.travel_limit}")
    if problem.max_moved is not None:
        moved = Counter(g for (_, g), cost in moved_cost(facts, rows).items() if cost)
        for segment, count in sorted(moved.items()):
            if count > problem.max_moved:
                yield Violation(Rule.MOVED, segment, detail=f"{count}>{problem.max_moved}")
