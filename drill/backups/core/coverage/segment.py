"""The answers of one segment before the side rules are looked at."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from drill.backups.core.coverage.classes import NOWHERE, SeatClasses
from drill.backups.core.coverage.ground import NOBODY, Ground
from drill.backups.core.coverage.result import Move
from drill.backups.core.coverage.side_rules import Chain, SideRules
from drill.lineup.core.solver.index import Ints

FREE, UNREACHED = 0, 1 << 18
STEP, RUNG = 1 << 40, 1 << 24


@dataclass(frozen=True)
class SegmentAnswers:
    """The answers of one segment before the side rules are looked at."""

    ground: Ground
    rules: SideRules
    number: int
    seats: Ints
    classes: SeatClasses
    step: dict[int, int]
    """seat -> who takes it in a shortest chain"""
    direct: dict[int, list[int]]
    """seat -> free members who may take it, whom stock allows to and who can be dressed, nearest
    first"""

    @classmethod
    def of(cls, ground: Ground, rules: SideRules, number: int) -> SegmentAnswers:
        seats = ground.seats_of(number)
        classes = SeatClasses.of(ground, seats)
        far = np.full(len(classes.rows) + 1, UNREACHED)
        far[list(classes.distance)] = list(classes.distance.values())
        far[NOWHERE] = FREE
        steps = far[np.array(classes.home, np.int64)]
        arcs = ground.arcs_of(seats)
        member, seat, standing = ground.member[arcs], ground.seat[arcs], ground.standing[arcs]
        free = np.flatnonzero((steps[member] == FREE) & rules.direct_fits(arcs))
        free = free[np.lexsort((standing[free] * RUNG + member[free], seat[free]))]
        direct: dict[int, list[int]] = {}
        for dot, who in zip(seat[free].tolist(), member[free].tolist(), strict=True):
            direct.setdefault(dot, []).append(who)
        first = np.flatnonzero(np.diff(seat, prepend=-1))
        step: dict[int, int] = {}
        if len(first):
            key = steps[member] * STEP + standing * RUNG + member
            nearest = (np.minimum.reduceat(key, first) % RUNG).tolist()
            step = dict(zip(seat[first].tolist(), nearest, strict=True))
        return cls(ground, rules, number, seats, classes, step, direct)

    def reached(self, seat: int) -> bool:
        """Whether anybody answers, side rules apart."""
        return self.classes.of_seat[seat] in self.classes.distance

    def shortest(self, seat: int) -> Chain:
        """A shortest chain, side rules apart."""
        chain: Chain = []
        place: int | None = seat
        while place is not None:
            member = self.step[place]
            chain.append((member, place))
            place = self.left.get(member)
        return chain

    def chain(self, seat: int) -> Chain | None:
        """A chain that stock and spare pieces bear, as far as looking at a few finds one."""
        direct = self.direct.get(seat)
        if direct:
            return [(direct[0], seat)]
        if not self.rules.bends:
            return self.shortest(seat)
        return next((c for c in self._few(seat) if self.rules.chain_fits(self.number, c)), None)

    def _few(self, seat: int) -> Iterator[Chain]:
        """The shortest chain, then those in which one member moves and one steps in."""
        yield self.shortest(seat)
        for member in self.classes.rows[self.classes.of_seat[seat]]:
            dot = self.left.get(member)
            if dot is None or dot == seat:
                continue
            number = self.classes.of_seat[dot]
            for free in self.classes.free[number]:
                yield [(member, seat), (free, dot)]

    @cached_property
    def moves(self) -> dict[tuple[int, int], Move]:
        """What is said of a step of a chain."""
        return _Moves(self.ground, self.left)

    @cached_property
    def left(self) -> dict[int, int]:
        """member -> the seat where they stand"""
        rows = zip(self.occupants, self.seats.tolist(), strict=True)
        return {m: s for m, s in rows if m != NOBODY}

    @cached_property
    def occupants(self) -> list[int]:
        """Who stands in each of the seats, or NOBODY."""
        found: list[int] = self.ground.occupant[self.seats].tolist()
        return found


class _Moves(dict[tuple[int, int], Move]):
    """(member, seat) -> the member's move there; chains have many in common."""

    def __init__(self, ground: Ground, left: dict[int, int]) -> None:
        self.names, self.spots, self.left = ground.arcs.people.keys, ground.spots, left

    def __missing__(self, step: tuple[int, int]) -> Move:
        member, seat = step
        left = self.left.get(member)
        source = None if left is None else self.spots[left]
        self[step] = move = Move(self.names[member], source, self.spots[seat])
        return move
