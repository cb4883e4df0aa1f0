"""A HiGHS model of some of the lineup's rows, with few arcs, that takes in others as they pay."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from typing import Any

import highspy
import numpy as np

from drill.lineup.core.solver.face import Face
from drill.lineup.core.solver.index import Bools, Floats, Ints
from drill.lineup.core.solver.model import AT_LEAST, AT_MOST, EQUAL
from drill.lineup.core.solver.part import Costs, Part
from drill.lineup.core.solver.result import NoLineup

DUAL_SIMPLEX, PRIMAL_SIMPLEX = 1, 4
OPTIMAL = highspy.HighsModelStatus.kOptimal
INFEASIBLE = highspy.HighsModelStatus.kInfeasible
CHEAPER = 1e-6
WHOLE = 1e-6
PER_SEAT, PER_MEMBER = 2, 1
STATUS = np.array(
    [
        highspy.HighsBasisStatus.kLower,
        highspy.HighsBasisStatus.kBasic,
        highspy.HighsBasisStatus.kUpper,
    ],
    object,
)
"""by number: what ``bases`` says of a column or row"""
OPTIONS: dict[str, bool | int | float | str] = {
    "output_flag": False,
    "threads": 1,
    "presolve": "off",
    "solver": "simplex",
    "primal_feasibility_tolerance": 1e-9,
    "dual_feasibility_tolerance": 1e-9,
}
BARE: dict[str, float] = {
    "simplex_dual_edge_weight_strategy": 1,
    "simplex_scale_strategy": 0,
    "dual_simplex_cost_perturbation_multiplier": 0.0,
    "primal_simplex_bound_perturbation_multiplier": 0.0,
}
"""The rows are nearly a network of small whole numbers: what guards against bad numbers costs
half of the time, so that it comes only where the method fails without."""
CAREFUL: dict[str, float] = {
    "simplex_dual_edge_weight_strategy": -1,
    "simplex_scale_strategy": 2,
    "dual_simplex_cost_perturbation_multiplier": 1.0,
    "primal_simplex_bound_perturbation_multiplier": 1.0,
}


@dataclass(frozen=True)
class Optimum:
    """Shares of the program's arcs, the values of all other columns of the model and the prices
    of all its rows (with one more entry, 0): those not in the program are 0."""

    arcs: Ints
    shares: Floats
    others: Floats
    prices: Floats
    value: float


def whole(values: Floats) -> bool:
    """True when no value is fractional."""
    return bool(np.abs(values - np.rint(values)).max(initial=0) < WHOLE)


@cache
def _options() -> highspy.HighsOptions:
    first = highspy._core._Highs()
    for option, value in (OPTIONS | BARE).items():
        first.setOptionValue(option, value)
    return first.getOptions()


class _Quiet(highspy.Highs):
    """HiGHS without callbacks: setting those up prints a banner that no option silences."""

    def __init__(self) -> None:
        super(highspy.Highs, self).__init__()
        self.callbacks = []
        self.passOptions(_options())


class Program:
    """The rows of a part, its columns that are no arcs, and some of its arcs."""

    def __init__(self, part: Part, arcs: Ints) -> None:
        self.part, self.model, self.arcs = part, part.model, arcs
        self.inside = np.zeros(self.model.arcs.size, np.bool_)
        self.inside[arcs] = True
        self.fixed = len(part.others)
        self.tight = self.model.sense[part.rows] == EQUAL
        self.free = np.ones(self.fixed + len(arcs), np.bool_)
        self.cost = np.zeros(self.fixed + len(arcs), np.int64)
        self.solver: Any = _Quiet()
        self._pass_model()
        self.feasible = False

    def begin(self, columns: Ints, rows: Ints, *, feasible: bool) -> None:
        """Start from a basis (of ``bases``), which is feasible or has the right prices."""
        basis = highspy.HighsBasis()
        basis.col_status = STATUS[columns].tolist()
        basis.row_status = STATUS[rows].tolist()
        basis.valid = True
        self.solver.setBasis(basis)
        self.feasible = feasible

    def minimise(self, costs: Costs, face: Face, *, again: bool = False) -> Optimum:
        """The optimum on the face; NoLineup when there is none. ``again`` is for the objective
        of the last time: only the face is another."""
        self.aim(costs, face)
        self.feasible &= not again
        return self.grow(costs, face)

    def grow(self, costs: Costs, face: Face) -> Optimum:
        """Solve, and take in the arcs of the face that pay until there are none."""
        while True:
            try:
                found = self.run()
            except NoLineup:
                # With some of the arcs there is none: those go in that could mend it.
                more = self._cheaper(costs.arcs * 0, self._ray(), face)
                if not len(more):
                    raise
                self.feasible = False
            else:
                more = self._cheaper(costs.arcs, found.prices, face)
                if not len(more):
                    return found
            self._take(more, costs.arcs[face.places(more)])

    def aim(self, costs: Costs, face: Face) -> None:
        """Set the objective and what the face leaves, where they are not so already."""
        solver, others = self.solver, self.part.others
        there, at = face.has(self.arcs)
        cost = np.append(costs.others[others], np.where(there, costs.arcs[at], 0))
        free = np.append(face.others[others], there)
        changed = np.flatnonzero((cost != self.cost) & free).astype(np.int32)
        self.cost[changed] = cost[changed]
        solver.changeColsCost(len(changed), changed, cost[changed].astype(np.float64))
        changed = np.flatnonzero(free != self.free).astype(np.int32)
        self.free[changed] = free[changed]
        upper = np.where(free[changed], highspy.kHighsInf, 0.0)
        solver.changeColsBounds(len(changed), changed, np.zeros(len(changed)), upper)
        tight = face.tight[self.part.rows]
        changed = np.flatnonzero(tight != self.tight).astype(np.int32)
        self.tight[changed] = tight[changed]
        low, high = (side[changed] for side in self._sides(tight))
        solver.changeRowsBounds(len(changed), changed, low, high)

    def run(self) -> Optimum:
        """Solve from the last basis; NoLineup when there is no solution."""
        solver = self.solver
        status = self._run(PRIMAL_SIMPLEX if self.feasible else DUAL_SIMPLEX)
        if status not in (OPTIMAL, INFEASIBLE):
            for option, setting in CAREFUL.items():
                solver.setOptionValue(option, setting)
            solver.clearSolver()
            status = self._run(DUAL_SIMPLEX)
        if status != OPTIMAL:
            raise NoLineup("the rules leave no lineup")
        self.feasible = True
        solution, value = solver.getSolution(), solver.getInfo().objective_function_value
        values = np.array(solution.col_value)
        others = np.zeros(self.model.others.shape[1])
        others[self.part.others] = values[: self.fixed]
        prices = np.zeros(self.model.rows + 1)
        prices[self.part.rows] = solution.row_dual
        return Optimum(self.arcs, values[self.fixed :], others, prices, value)

    def _run(self, strategy: int) -> highspy.HighsModelStatus:
        self.solver.setOptionValue("simplex_strategy", strategy)
        self.solver.run()
        status: highspy.HighsModelStatus = self.solver.getModelStatus()
        return status

    def ray(self, face: Face) -> Floats | None:
        """Prices of all rows that say there is nothing on the face; None where there is."""
        try:
            self.minimise(Costs.none(self.model, face), face, again=True)
        except NoLineup:
            return self._ray()
        return None

    def _ray(self) -> Floats:
        """The prices that show that the last run had no solution: they pay something for the
        rows, and no column costs anything."""
        _, there, values = self.solver.getDualRay()
        prices = np.zeros(self.model.rows + 1)
        if there:
            prices[self.part.rows] = values
        return -prices if self.part.limit @ prices[self.part.rows] < 0 else prices

    def _cheaper(self, cost: Ints, prices: Floats, face: Face) -> Ints:
        """The best arcs below the prices: two of each seat and one of each member."""
        if self.part.complete:
            return self.arcs[:0]
        reduced = cost - self.model.products(prices, face.arcs)
        below = np.flatnonzero((reduced < -CHEAPER) & ~self.inside[face.arcs])
        found, reduced = face.arcs[below], reduced[below]
        if not len(found):
            return found
        best = _least(reduced, self.model.arcs.seat[found], PER_SEAT)
        best |= _least(reduced, self.model.arcs.member[found], PER_MEMBER)
        return found[best]

    def _take(self, more: Ints, cost: Ints) -> None:
        count = len(more)
        start, rows, values = self.part.entries(more)
        self.solver.addCols(
            count,
            cost.astype(np.float64),
            np.zeros(count),
            np.full(count, highspy.kHighsInf),
            len(rows),
            start[:-1],
            rows,
            values,
        )
        self.arcs = np.concatenate([self.arcs, more])
        self.inside[more] = True
        self.free = np.append(self.free, np.ones(count, np.bool_))
        self.cost = np.append(self.cost, cost)

    def _sides(self, tight: Bools) -> tuple[Floats, Floats]:
        """The least and the most of every row; both are its limit where it is tight."""
        limit, sense = self.part.limit.astype(np.float64), self.model.sense[self.part.rows]
        low = np.where((sense == AT_MOST) & ~tight, -highspy.kHighsInf, limit)
        return low, np.where((sense == AT_LEAST) & ~tight, highspy.kHighsInf, limit)

    def _pass_model(self) -> None:
        part, count = self.part, self.fixed + len(self.arcs)
        low, high = self._sides(self.tight)
        start, rows, values = part.other_entries()
        more, arc_rows, arc_values = part.entries(self.arcs)
        self.solver.passModel(
            count,
            len(part.rows),
            len(rows) + len(arc_rows),
            int(highspy.MatrixFormat.kColwise),
            int(highspy.ObjSense.kMinimize),
            0.0,
            np.zeros(count),
            np.zeros(count),
            np.full(count, highspy.kHighsInf),
            low,
            high,
            np.append(start, start[-1] + more[1:]).astype(np.int32),
            np.append(rows, arc_rows).astype(np.int32),
            np.append(values, arc_values),
            np.zeros(count, np.int32),
        )


def _least(value: Floats, group: Ints, most: int) -> Bools:
    """Which are among the ``most`` of least value in their group."""
    order = np.lexsort((value, group))
    key = group[order]
    first = np.flatnonzero(np.diff(key, prepend=-1))
    place = np.arange(len(order)) - np.repeat(first, np.diff(np.append(first, len(order))))
    out = np.zeros(len(value), np.bool_)
    out[order[place < most]] = True
    return out
