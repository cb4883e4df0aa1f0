"""The lineup as given, as arrays: who may march each seat, who stands there, who is free."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np

from drill.lineup.core.canonical import canonical
from drill.lineup.core.problem import Level, LineupProblem, Pin, Placement, Seat
from drill.lineup.core.solver.arcs import Arcs, build_arcs
from drill.lineup.core.solver.index import Bools, Ints

Known = frozenset[tuple[str, str]]
"""(member, spot) pairs: the member knows the spot"""

NOBODY = -1


@dataclass(frozen=True)
class Ground:
    """Members, spots and seats by number in the order of their keys.

    ``member``, ``seat``, ``standing`` and ``takes_stock`` describe the arcs: who may march a
    seat and knows it, sorted by seat and member. ``unknown`` has members, seats and standing of
    those who may but do not know it. ``start`` has the first arc of each seat, and the end.
    ``kin`` numbers the seats: those of one number have the same arcs, -1 says nothing.
    ``occupant`` is who stands in a seat, or NOBODY: placements against the rules do not count.
    """

    problem: LineupProblem
    known: Known | None
    arcs: Arcs
    member: Ints
    seat: Ints
    standing: Ints
    takes_stock: Bools
    start: Ints
    kin: Ints
    occupant: Ints
    unknown: tuple[Ints, Ints, Ints]

    @property
    def people(self) -> int:
        return len(self.problem.members)

    def name(self, member: int) -> str:
        return self.arcs.people.keys[member]

    @cached_property
    def spots(self) -> list[str]:
        """The spot of each seat."""
        return [spot for _, spot in self.arcs.seats]

    def seats_of(self, segment: int) -> Ints:
        """The seats of a segment: they follow each other."""
        return np.flatnonzero(self.arcs.seat_segment == segment)

    def arcs_of(self, seats: Ints) -> slice:
        """The arcs of seats that follow each other."""
        if not len(seats):
            return slice(0, 0)
        return slice(int(self.start[seats[0]]), int(self.start[seats[-1] + 1]))

    def answered(self, segment: int) -> Bools:
        """For each seat of a segment, whether anybody answers for it, side rules apart."""
        seats = self.seats_of(segment)
        out, arcs = np.zeros(len(seats), np.bool_), self.arcs_of(seats)
        if arcs.start == arcs.stop:
            return out
        bounds = self.start[seats[0] : seats[-1] + 2] - arcs.start
        able = bounds[1:] > bounds[:-1]
        member, start = self.member[arcs], bounds[:-1][able]
        occupant = self.occupant[seats[able]]
        can = np.ones(self.people + 1, np.int8)  # the last entry is nobody's
        can[occupant] = 0
        count = -1
        while True:
            found = np.bitwise_or.reduceat(can.take(member), start)
            can[occupant] = found
            before, count = count, int(np.count_nonzero(found))
            if count in (before, len(found)):
                break
        out[able] = found
        return out


def ground_of(
    problem: LineupProblem, placements: Iterable[Placement], known: Known | None = None
) -> Ground:
    """The ground of a lineup. With ``known`` nobody marches what they do not know; whoever
    stands on a spot in any segment counts as knowing it."""
    rows = sorted(((p.segment, p.spot), p.member) for p in placements if p.member is not None)
    # Without pins these are the very rows that were solved: their arcs are there already.
    plain = canonical(replace(problem, pins=()) if problem.pins else problem)
    arcs = build_arcs(plain)
    placed = _placed(arcs, rows)
    may = _within_pins(arcs, placed, problem.pins)
    if known is not None:
        known |= {(member, seat[1]) for seat, member in rows}
    knows = _knows(arcs, known)
    keep, lacking = may & knows, may & ~knows
    occupant = np.full(len(arcs.seats), NOBODY, np.int64)
    stands = keep & (placed[arcs.seat] == arcs.member)
    occupant[arcs.seat[stands]] = arcs.member[stands]
    seat, kin = arcs.seat[keep], arcs.kin.copy()
    kin[arcs.seat[~keep]] = -1
    return Ground(
        plain,
        known,
        arcs,
        arcs.member[keep],
        seat,
        arcs.costs[Level.STANDING][keep],
        arcs.takes_stock[keep],
        np.searchsorted(seat, np.arange(len(arcs.seats) + 1)),
        kin,
        occupant,
        (arcs.member[lacking], arcs.seat[lacking], arcs.costs[Level.STANDING][lacking]),
    )


def _placed(arcs: Arcs, rows: list[tuple[Seat, str]]) -> Ints:
    """Seat -> member as the placements say; of two seats of one member only the first counts."""
    number = arcs.people.number
    position = {seat: j for j, seat in enumerate(arcs.seats)}
    placed = np.full(len(arcs.seats), NOBODY, np.int64)
    seen = set()
    for seat, member in rows:
        if seat in position and member in number and (seat[0], member) not in seen:
            seen.add((seat[0], member))
            placed[position[seat]] = number[member]
    return placed


def _within_pins(arcs: Arcs, placed: Ints, pins: Iterable[Pin]) -> Bools:
    """A pinned member goes nowhere else. Nobody else takes the pinned seat, unless the member
    stands there: the pin falls when they drop out, and until then the seat is not empty."""
    may = np.ones(arcs.size, np.bool_)
    position = {seat: j for j, seat in enumerate(arcs.seats)}
    for pin in pins:
        j, i = position.get((pin.segment, pin.spot)), arcs.people.number.get(pin.member)
        if j is None or i is None:
            continue
        here = arcs.seat_segment[arcs.seat] == arcs.seat_segment[j]
        may &= ~((arcs.member == i) & here & (arcs.seat != j))
        if placed[j] != i:
            may &= ~((arcs.seat == j) & (arcs.member != i))
    return may


def _knows(arcs: Arcs, known: Known | None) -> Bools:
    if known is None:
        return np.ones(arcs.size, np.bool_)
    members, spots = arcs.people.number, arcs.places.number
    width = max(len(spots), 1)
    pairs = [members[m] * width + spots[s] for m, s in known if m in members and s in spots]
    spot = arcs.seat_spot[arcs.seat] if arcs.size else arcs.seat
    return np.isin(arcs.member * width + spot, np.array(pairs, np.int64))
