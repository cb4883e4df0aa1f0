"""What solves one pack on a face and on parts of it: all rows, or only what is open."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from drill.lineup.core.solver.bases import at_point
from drill.lineup.core.solver.core import Core, core_of
from drill.lineup.core.solver.face import Face
from drill.lineup.core.solver.index import Floats, Ints
from drill.lineup.core.solver.model import Model, Point
from drill.lineup.core.solver.part import Costs, Part
from drill.lineup.core.solver.program import Program, whole


@dataclass(frozen=True)
class Solved:
    """A pack's optimum: shares of some arcs, arcs that are surely one, values of the other
    columns that were open, and the prices of all rows."""

    arcs: Ints
    shares: Floats
    decided: Ints
    others: Floats
    prices: Floats

    def whole(self) -> Ints | None:
        """The arcs that are one, None when some value is fractional."""
        if not (whole(self.shares) and whole(self.others)):
            return None
        return np.sort(np.append(self.arcs[self.shares > 0.5], self.decided))


@dataclass(frozen=True)
class Solver:
    """A program of all rows (without a ``core``), or of what is open on a face; none where
    nothing is."""

    face: Face
    costs: Costs
    program: Program | None
    core: Core | None

    def solve(self, face: Face) -> Solved:
        """The optimum on the face or a part of it; NoLineup when there is none."""
        core = self.core
        if self.program is None:
            assert core is not None, "all rows are a program"
            prices = core.settle(self.costs, np.zeros(core.part.model.rows + 1))
            return Solved(core.columns, np.zeros(0), core.decided(), np.zeros(0), prices)
        costs = self.costs.on(self.face, face)
        found = self.program.minimise(costs, face, again=face is not self.face)
        if core is None:
            others = self.program.model.decided(found.others)
            return Solved(found.arcs, found.shares, found.arcs[:0], others, found.prices)
        prices = core.settle(self.costs, found.prices)
        return Solved(found.arcs, found.shares, core.decided(), found.others, prices)

    def ray(self, face: Face) -> Floats | None:
        """Prices of all rows that say there is nothing on the face or a part of it; None where
        there is."""
        found = None if self.program is None else self.program.ray(face)
        if found is None or self.core is None:
            return found
        return self.core.settle(Costs.none(self.core.part.model, self.face), found)


def solver_of(model: Model, face: Face, point: Point | None, costs: Costs) -> Solver:
    """What solves a pack on a face, from a lineup on it if one is known."""
    if model.is_wide:
        return Solver(face, costs, Program(Part.whole(model), face.arcs), None)
    core = core_of(model, face)
    if not len(core.part.rows):
        return Solver(face, costs, None, core)
    program = Program(core.part, core.columns)
    if point is not None:
        program.begin(*at_point(core.part, core.columns, point), feasible=True)
    return Solver(face, costs, program, core)
