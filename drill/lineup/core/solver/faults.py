"""Contradictions among pins, found before anything is solved."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator

from drill.lineup.core.dressing import undressed
from drill.lineup.core.problem import LineupProblem, Origin, Pin, Placement
from drill.lineup.core.rules import Facts
from drill.lineup.core.solver.result import Fault, PinFault


def pin_faults(problem: LineupProblem) -> tuple[Fault, ...]:
    """Why the pins cannot all be kept; empty when they can."""
    facts = Facts(problem)
    pins = sorted(set(problem.pins))
    return (*_single_faults(facts, pins), *_joint_faults(facts, pins))


def _single_faults(facts: Facts, pins: list[Pin]) -> Iterator[Fault]:
    for pin in pins:
        member, spot = facts.members.get(pin.member), facts.spots.get(pin.spot)
        if (pin.segment, pin.spot) in facts.problem.left_open:
            yield Fault(PinFault.LEFT_OPEN, pin.segment, pin.spot, pin.member)
        elif (
            member is None
            or spot is None
            or (pin.segment, pin.spot) not in facts.seats
            or facts.why_not(member, pin.segment, spot)
        ):
            yield Fault(PinFault.CANNOT_MARCH, pin.segment, pin.spot, pin.member)


def _joint_faults(facts: Facts, pins: list[Pin]) -> Iterator[Fault]:
    seats = Counter((pin.segment, pin.spot) for pin in pins)
    people = Counter((pin.segment, pin.member) for pin in pins)
    used: Counter[tuple[str, str]] = Counter()
    for pin in pins:
        if seats[pin.segment, pin.spot] > 1:
            yield Fault(PinFault.TWO_MEMBERS, pin.segment, pin.spot, pin.member)
        if people[pin.segment, pin.member] > 1:
            yield Fault(PinFault.TWO_SEATS, pin.segment, pin.spot, pin.member)
        if pin.member in facts.members and pin.spot in facts.spots:
            kind = facts.stock_kind(facts.members[pin.member], facts.spots[pin.spot])
            if kind is not None:
                used[pin.segment, kind] += 1
    stock = dict(facts.problem.stock)
    for (segment, kind), count in sorted(used.items()):
        if count > stock.get(kind, count):
            yield Fault(PinFault.STOCK, segment, detail=kind)
    known = [p for p in pins if p.member in facts.members and p.spot in facts.spots]
    stand = [Placement(p.segment, p.spot, p.member, Origin.PINNED) for p in known]
    for kind, members in undressed(facts, stand).items():
        for member in members:
            yield Fault(PinFault.DRESS, member=member, detail=kind)
    limit = facts.problem.travel_limit
    going = {pin.member for pin in pins} | {m.key for m in facts.problem.members if m.must_travel}
    if pins and limit is not None and len(going) > limit:
        yield Fault(PinFault.TRAVEL, detail=str(len(going)))
