"""Stage 3: level by level, where a face of the linear program is fractional.

Each level's linear program on what the earlier levels left gives a bound, and often a whole
answer. Where it does not, HiGHS branches for a bounded number of nodes; where that is not
enough, CP-SAT searches the columns that reduced costs leave, from the best lineup known, with
one worker and a deterministic amount of work. The value found and the bound proven are reported
as they are.
"""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
from ortools.sat.python import cp_model

from drill.lineup.core.problem import Level
from drill.lineup.core.solver.certificate import LEVELS, is_feasible
from drill.lineup.core.solver.face import Face
from drill.lineup.core.solver.index import Ints
from drill.lineup.core.solver.linear import Floats, Program, whole
from drill.lineup.core.solver.model import AT_MOST, EQUAL, Model
from drill.lineup.core.solver.result import LevelResult, Limits, NoLineup, OutOfWork
from drill.lineup.core.solver.splitting import wide_vector, widened

TOLERANCE = 1e-6


@dataclass
class _Search:
    """What is settled so far: columns left, values of settled levels, the best lineup known."""

    model: Model
    limits: Limits
    program: Program
    face: Face
    settled: list[tuple[Ints, int]] = field(default_factory=list)
    x: Ints | None = None
    proven: bool = True

    def level(self, level: Level) -> LevelResult:
        """Minimise one level on top of those settled, and settle it."""
        if level is Level.SPLIT:
            self._widen()
        cost = self.model.cost(level, self.face.free)
        values, duals = self.program.minimise(cost, self.face)
        relaxed = float(cost @ values)
        bound = int(np.ceil(relaxed - TOLERANCE))
        optimal = self._improve(cost, values, bound)
        if self.x is None:
            raise OutOfWork("no lineup was found within the allowed work")
        value = int(cost @ self.x)
        optimal = optimal or value == bound
        self._settle(cost, duals, value, relaxed)
        self.proven &= optimal
        if self.proven:
            return LevelResult(level, value, value, True)
        return LevelResult(level, value, bound if level is Level.HOLES else None, False)

    def _widen(self) -> None:
        """Go on with the columns that the level needs, for what the levels before have left."""
        self.model, self.face = widened(self.model, self.face)
        more = self.model.columns
        self.settled = [(np.pad(c, (0, more - len(c))), v) for c, v in self.settled]
        self.program = Program(self.model)
        for cost, value in self.settled:
            self.program.add_row(cost, value)
        if self.x is not None:
            self.x = wide_vector(self.model, self.x)

    def _improve(self, cost: Ints, values: Floats, bound: int) -> bool:
        """Bring ``x`` to the level's best; True when that is proven."""
        x = whole(values)
        if x is not None:
            self.x = x
            return True
        if self.x is None:
            self.x = _rounded(self.model, values)
        if self.x is not None and int(cost @ self.x) <= bound:
            return True
        branched, proven = self.program.branch(cost, self.face, self.limits.nodes)
        x = None if branched is None else whole(branched)
        if x is not None and is_feasible(self.model, x):
            if self.x is None or int(cost @ x) <= int(cost @ self.x):
                self.x = x
            if proven:
                return True
        return self._search(cost, bound)

    def _search(self, cost: Ints, bound: int) -> bool:
        program, variables = self._rows()
        objective = _dot(variables, cost)
        program.add(objective >= bound)
        program.minimize(objective)
        solver = cp_model.CpSolver()
        solver.parameters.num_workers = 1
        solver.parameters.random_seed = 0
        solver.parameters.linearization_level = 2
        solver.parameters.max_deterministic_time = self.limits.deterministic_work
        status = solver.solve(program)
        if status == cp_model.INFEASIBLE:
            raise NoLineup("the rules leave no lineup")
        if status in (cp_model.OPTIMAL, cp_model.FEASIBLE):
            self.x = np.zeros(self.model.columns, np.int64)
            for column, variable in variables.items():
                self.x[column] = solver.value(variable)
        return bool(status == cp_model.OPTIMAL)

    def _settle(self, cost: Ints, duals: Floats, value: int, relaxed: float) -> None:
        """Keep the level's value, and drop columns that cannot take part in reaching it."""
        self.settled.append((cost, value))
        rows = len(self.model.sense)
        reduced = cost - self.model.matrix.T @ duals[:rows]
        for (row, _), price in zip(self.settled, duals[rows:], strict=False):
            reduced = reduced - row * price
        self.face.free &= ~(reduced > value - relaxed + 1e-3)
        self.program.add_row(cost, value)

    def _rows(self) -> tuple[cp_model.CpModel, dict[int, cp_model.IntVar]]:
        model = self.model
        program = cp_model.CpModel()
        counts = set() if model.split is None else set(model.split.spots.tolist())
        most = len(model.arcs.index.problem.segments)
        variables = {
            c: program.new_int_var(0, most, "") if c in counts else program.new_bool_var("")
            for c in np.flatnonzero(self.face.free).tolist()
        }
        for row in range(len(model.sense)):
            start, end = model.matrix.indptr[row], model.matrix.indptr[row + 1]
            terms = zip(model.matrix.indices[start:end], model.matrix.data[start:end], strict=True)
            total = sum(variables[int(c)] * int(v) for c, v in terms if int(c) in variables)
            limit, sense = int(model.limit[row]), model.sense[row]
            if sense == EQUAL:
                program.add(total == limit)
            elif sense == AT_MOST:
                program.add(total <= limit)
            else:
                program.add(total >= limit)
        for cost, value in self.settled:
            program.add(_dot(variables, cost) == value)
        if self.x is not None:
            for column, variable in variables.items():
                program.add_hint(variable, int(self.x[column]))
        return program, variables


def _dot(variables: dict[int, cp_model.IntVar], cost: Ints) -> cp_model.LinearExprT:
    columns = [c for c in variables if cost[c]]
    return cp_model.LinearExpr.weighted_sum(
        [variables[c] for c in columns], [int(cost[c]) for c in columns]
    )


def _rounded(model: Model, values: Floats) -> Ints | None:
    """A lineup near a fractional one: largest shares first, as long as the rules allow."""
    arcs = model.arcs
    x = np.zeros(model.columns, np.int64)
    pinned = arcs.seat_pinned[arcs.seat]
    x[: arcs.size][pinned] = 1
    taken_seats = set(arcs.seat[pinned].tolist())
    taken_nodes = set(model.node[pinned].tolist())
    model.fill_dependent(x)
    order = np.argsort(-values[: arcs.size], kind="stable")
    for arc in order[values[order] > TOLERANCE].tolist():
        seat, node = int(arcs.seat[arc]), int(model.node[arc])
        if seat in taken_seats or node in taken_nodes:
            continue
        trial = x.copy()
        trial[arc] = 1
        model.fill_dependent(trial)
        if is_feasible(model, trial) or not is_feasible(model, x):
            x = trial
            taken_seats.add(seat)
            taken_nodes.add(node)
    return x if is_feasible(model, x) else None


def solve_constraint(model: Model, limits: Limits) -> tuple[Ints, tuple[LevelResult, ...]]:
    """The best lineup found, and each level's value, bound and whether it is proven."""
    search = _Search(model, limits, Program(model), Face.whole(model))
    results = tuple(search.level(level) for level in LEVELS)
    if search.x is None:
        raise OutOfWork("no lineup was found within the allowed work")
    search.model.fill_dependent(search.x)
    return search.x, results
