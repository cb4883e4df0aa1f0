"""Stage 3: the constraint solver, asked only when a face of the linear program is fractional.

Level by level on the arcs that earlier levels leave (reduced-cost fixing), one worker, a
deterministic amount of work: the value found and the bound proven are reported as they are.
"""

from __future__ import annotations

import numpy as np
from ortools.sat.python import cp_model

from drill.core.problem import Level
from drill.core.solver.arcs import Bools, Ints
from drill.core.solver.certificate import LEVELS, Face
from drill.core.solver.linear import Program
from drill.core.solver.model import AT_MOST, EQUAL, Model
from drill.core.solver.result import LevelResult, Limits, NoLineup


class _Search:
    """A CP-SAT model of the rows, minimised one level after the other."""

    def __init__(self, model: Model, limits: Limits) -> None:
        self.model, self.limits = model, limits
        self.free: Bools = np.ones(model.columns, np.bool_)
        self.fixed: list[tuple[Ints, int]] = []
        self.x: Ints | None = None

    def minimise(self, level: Level) -> LevelResult:
        cost = self.model.cost(level, self.free)
        program, variables = self._program()
        program.minimize(_dot(variables, cost))
        solver = cp_model.CpSolver()
        solver.parameters.num_workers = 1
        solver.parameters.random_seed = 0
        solver.parameters.max_deterministic_time = self.limits.deterministic_work
        status = solver.solve(program)
        if status == cp_model.INFEASIBLE:
            raise NoLineup("the rules leave no lineup")
        proven = status == cp_model.OPTIMAL
        if status in (cp_model.OPTIMAL, cp_model.FEASIBLE):
            self.x = np.zeros(self.model.columns, np.int64)
            for column, variable in variables.items():
                self.x[column] = solver.value(variable)
        elif self.x is None:
            raise NoLineup("no lineup was found within the allowed work")
        assert self.x is not None
        value = int(cost @ self.x)
        bound = value if proven else int(np.ceil(solver.best_objective_bound - 1e-6))
        self.fixed.append((cost, value))
        return LevelResult(level, value, bound, proven)

    def settle(self, level: Level, value: int) -> None:
        """Drop the columns whose reduced cost shows that they cannot reach the level's value."""
        cost = self.model.cost(level, self.free)
        face = Face.whole(self.model)
        face.free = self.free.copy()
        _, duals = Program(self.model).minimise(cost, face)
        reduced = cost - self.model.matrix.T @ duals
        bound = float(duals @ self.model.limit)
        self.free &= ~(reduced > value - bound + 1e-3)

    def _program(self) -> tuple[cp_model.CpModel, dict[int, cp_model.IntVar]]:
        model = self.model
        program = cp_model.CpModel()
        variables = {int(c): program.new_bool_var("") for c in np.flatnonzero(self.free)}
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
        for cost, value in self.fixed:
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


def solve_constraint(model: Model, limits: Limits) -> tuple[Ints, dict[Level, LevelResult]]:
    """The best lineup found and each level's value, bound and whether it is proven."""
    search = _Search(model, limits)
    results = {}
    for level in LEVELS:
        results[level] = search.minimise(level)
        if results[level].proven:
            search.settle(level, results[level].value)
    assert search.x is not None
    model.fill_dependent(search.x)
    return search.x, results
