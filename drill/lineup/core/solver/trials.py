"""Whether a hole can be filled with one change at a time, side rules and all.

One linear program, started again from its optimum for each change; where its answer is not
whole, branches decide.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from dataclasses import replace

import highspy
import numpy as np

from drill.lineup.core.problem import Level, Seat
from drill.lineup.core.solver.branching import Tree
from drill.lineup.core.solver.face import Face
from drill.lineup.core.solver.index import Bools, Ints
from drill.lineup.core.solver.local import Solver
from drill.lineup.core.solver.model import EQUAL, Model
from drill.lineup.core.solver.packing import Pack
from drill.lineup.core.solver.part import Costs, Part
from drill.lineup.core.solver.program import CHEAPER, Program, whole
from drill.lineup.core.solver.relaxed import Relaxed
from drill.lineup.core.solver.result import NoLineup

ANY = Pack((Level.HOLES,), (1,), 1)


class Trials:
    """A model that has more arcs than there are now. ``there`` are the arcs there are, ``filled``
    the seats whose holes must not be, ``let_in`` what will be tried. The hole of the seat is what
    it makes small.

    Raises NoLineup when the arcs leave none.
    """

    def __init__(
        self,
        model: Model,
        there: Bools,
        filled: Iterable[int],
        seat: Seat,
        let_in: Iterable[Relaxed],
        nodes: int,
    ) -> None:
        self.model, self.nodes = model, nodes
        self.hole = int(model.hole[model.arcs.seats.index(seat)])
        others = np.ones(model.others.shape[1], np.bool_)
        others[model.hole[list(filled)]] = False
        self.face = Face(np.flatnonzero(there), others, model.sense == EQUAL)
        some = there.copy()
        for more in let_in:
            some[more.arcs] = True
        self.arcs = np.flatnonzero(some)
        self.program = Program(replace(Part.whole(model), complete=True), self.arcs)
        costs = Costs.none(model, self.face)
        costs.others[self.hole] = 1
        found = self.program.minimise(costs, self.face)
        self.prices, self.basis = found.prices, self.program.solver.getBasis()

    def fills(self, more: Relaxed) -> bool:
        """True when with that a lineup fills the seat."""
        pays = self.model.products(self.prices, more.arcs) > CHEAPER
        if not pays.any() and not self.prices[more.rows].any():
            return False
        with self._let_in(more):
            found = self.program.run()
        if found.value > CHEAPER:
            return False
        others = self.model.decided(found.others)
        return (whole(found.shares) and whole(others)) or self._branches(more)

    def _branches(self, more: Relaxed) -> bool:
        """The same where shares are fractional: some lineup without the hole."""
        limit, others = self.model.limit.copy(), self.face.others.copy()
        limit[more.rows] += 1
        others[self.hole] = False
        model = replace(self.model, limit=limit)
        face = Face(np.union1d(self.face.arcs, more.arcs), others, self.face.tight)
        program = Program(Part.whole(model), face.arcs)
        tree = Tree(model, [ANY], self.nodes, None)
        try:
            tree.search(face, Solver(face, Costs.of(model, ANY, face), program, None))
        except NoLineup:
            return False
        return tree.best is not None

    @contextmanager
    def _let_in(self, more: Relaxed) -> Iterator[None]:
        self._limit_arcs(more.arcs, highspy.kHighsInf)
        self._limit_rows(more.rows, 1)
        self.program.solver.setBasis(self.basis)
        yield
        self._limit_arcs(more.arcs, 0.0)
        self._limit_rows(more.rows, 0)

    def _limit_arcs(self, arcs: Ints, upper: float) -> None:
        count = len(arcs)
        place = self.program.fixed + np.searchsorted(self.arcs, arcs)
        self.program.solver.changeColsBounds(
            count, place.astype(np.int32), np.zeros(count), np.full(count, upper)
        )

    def _limit_rows(self, rows: Ints, more: int) -> None:
        for row in rows.tolist():
            limit = float(self.model.limit[row] + more)
            self.program.solver.changeRowBounds(row, -highspy.kHighsInf, limit)
