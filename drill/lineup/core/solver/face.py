"""What the levels decided so far leave open."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from drill.lineup.core.solver.index import Bools, Ints
from drill.lineup.core.solver.model import EQUAL, Model, Point


@dataclass(frozen=True)
class Face:
    """What the blocks so far leave: arcs and other columns not yet settled at zero, and rows
    that have become equations."""

    arcs: Ints
    others: Bools
    tight: Bools

    @classmethod
    def whole(cls, model: Model) -> Face:
        every = np.ones(model.others.shape[1], np.bool_)
        return cls(model.all_arcs, every, model.sense == EQUAL)

    def places(self, arcs: Ints) -> Ints:
        """Where arcs of the face are among its arcs."""
        every = len(self.arcs) == 0 or self.arcs[-1] + 1 == len(self.arcs)
        return arcs if every else np.searchsorted(self.arcs, arcs)

    def has(self, arcs: Ints) -> tuple[Bools, Ints]:
        """Which of the arcs are on the face, and where among its arcs (0 of those that are not)."""
        at = np.searchsorted(self.arcs, arcs)
        at[at == len(self.arcs)] = 0
        there = self.arcs[at] == arcs if len(self.arcs) else np.zeros(len(arcs), np.bool_)
        return there, np.where(there, at, 0)

    def holds(self, point: Point) -> bool:
        """Whether all columns of the point are on the face."""
        return bool(self.has(point.arcs)[0].all() and not point.others[~self.others].any())

    def may_be_empty(self, model: Model) -> Bools:
        """For each seat, whether its hole is on the face."""
        found: Bools = np.append(self.others, False)[model.hole]
        return found

    def spread(self, model: Model, cost: Ints) -> int:
        """How far apart two sums of a cost of its arcs can be: at most one arc a seat."""
        if not len(cost):
            return 0
        seat = model.arcs.seat[self.arcs]
        first = np.flatnonzero(np.append(True, seat[1:] != seat[:-1]))
        low, high = np.minimum.reduceat(cost, first), np.maximum.reduceat(cost, first)
        empty = self.may_be_empty(model)[seat[first]]
        low[empty], high[empty] = low[empty].clip(max=0), high[empty].clip(0)
        return int((high - low).sum())

    def open_seats(self, model: Model) -> int:
        """How many seats more than one column can fill."""
        count = np.bincount(model.arcs.seat[self.arcs], minlength=len(model.arcs.seats))
        count += self.may_be_empty(model)
        return int(np.count_nonzero(count > 1))
