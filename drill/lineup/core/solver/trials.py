"""Whether a hole can be filled with one change at a time, side rules and all.

One linear program, started again from its optimum for each change; where its answer is not
whole, HiGHS branches.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from contextlib import contextmanager

import highspy
import numpy as np

from drill.lineup.core.problem import Seat
from drill.lineup.core.solver.face import Face
from drill.lineup.core.solver.index import Bools, Ints
from drill.lineup.core.solver.linear import CHEAPER, Floats, Program, whole
from drill.lineup.core.solver.model import EQUAL, Model
from drill.lineup.core.solver.relaxed import Relaxed


class Trials(Program):
    """A model that has more arcs than there are now; ``free`` are the columns there are, without
    the holes that must not be, ``let_in`` what will be tried. The hole of the seat is what it
    makes small.

    Raises NoLineup when the columns leave none.
    """

    def __init__(
        self, model: Model, free: Bools, seat: Seat, let_in: Iterable[Relaxed], nodes: int
    ) -> None:
        some = free.copy()
        for more in let_in:
            some[more.columns] = True
        super().__init__(model, np.flatnonzero(some))
        self.place = np.cumsum(some) - 1
        self.nodes, self.cost = nodes, np.zeros(model.columns, np.int64)
        self.cost[model.hole[model.arcs.seats.index(seat)]] = 1
        self.face = Face(free, model.sense == EQUAL)
        _, self.prices = self.minimise(self.cost, self.face)
        self.reduced = self.cost - model.matrix.T @ self.prices
        self.basis = self.solver.getBasis()

    def fills(self, more: Relaxed) -> bool:
        """True when with that a lineup fills the seat."""
        if not (self.reduced[more.columns] < -CHEAPER).any() and not self.prices[more.rows].any():
            return False
        with self._let_in(more):
            values, _ = self._run()
            if not self._filled(values) or whole(values) is not None:
                return self._filled(values)
            best, _ = self.branch(self.cost, self.face, self.nodes)
            return best is not None and self._filled(best)

    def _filled(self, values: Floats) -> bool:
        return float(self.cost @ values) < CHEAPER

    @contextmanager
    def _let_in(self, more: Relaxed) -> Iterator[None]:
        self._limit_columns(more.columns, highspy.kHighsInf)
        self._limit_rows(more.rows, 1)
        self.solver.setBasis(self.basis)
        yield
        self._limit_columns(more.columns, 0.0)
        self._limit_rows(more.rows, 0)

    def _limit_columns(self, columns: Ints, upper: float) -> None:
        count = len(columns)
        self.solver.changeColsBounds(
            count, self.place[columns].astype(np.int32), np.zeros(count), np.full(count, upper)
        )

    def _limit_rows(self, rows: Ints, more: int) -> None:
        for row in rows.tolist():
            limit = float(self.model.limit[row] + more)
            self.solver.changeRowBounds(row, -highspy.kHighsInf, limit)
