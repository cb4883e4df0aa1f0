"""The lineup by a general constraint solver (OR-Tools CP-SAT), one block of levels after another.

One worker and a fixed seed, so that two runs agree; each stage starts from the one before it.
"""

from __future__ import annotations

import time

from ortools.sat.python import cp_model

from drill.lineup.core.problem import LineupProblem
from tests.reference.linear_form import LinearForm, Objective, Row, blocks, linear_form
from tests.reference.mip import Reference, SolverFailedError, read_answer

LARGEST = 2**20


class _Model:
    def __init__(self, form: LinearForm) -> None:
        self.model = cp_model.CpModel()
        self.x = [self.model.new_bool_var(f"x{c}") for c in range(form.columns)]
        for row in form.rows:
            self._add(row)

    def _add(self, row: Row) -> None:
        if row.kind in ("seat", "member"):
            self.model.add_at_most_one(self.x[c] for c in row.terms)
            return
        total = self._sum(row.terms)
        if row.low is not None:
            self.model.add(total >= row.low)
        if row.high is not None:
            self.model.add(total <= row.high)

    def _sum(self, terms: dict[int, int]) -> cp_model.LinearExprT:
        return cp_model.LinearExpr.weighted_sum([self.x[c] for c in terms], list(terms.values()))

    def minimise(self, objective: Objective, seconds: float) -> tuple[str, list[int]]:
        self.model.minimize(self._sum(objective.terms))
        solver = cp_model.CpSolver()
        solver.parameters.num_workers = 1
        solver.parameters.random_seed = 1
        solver.parameters.linearization_level = 2
        solver.parameters.symmetry_level = 0
        solver.parameters.max_time_in_seconds = seconds
        status = solver.solve(self.model)
        if status == cp_model.INFEASIBLE:
            return "infeasible", []
        if status in (cp_model.UNKNOWN, cp_model.FEASIBLE):
            return "capped", []
        if status != cp_model.OPTIMAL:
            raise SolverFailedError(solver.status_name(status))
        return "optimal", [c for c, x in enumerate(self.x) if solver.value(x)]

    def settle(self, objectives: list[Objective], chosen: list[int]) -> None:
        """Keep the objectives at their values and start the next stage from this answer."""
        for objective in objectives:
            value = objective.value(chosen) - objective.constant
            self.model.add(self._sum(objective.terms) <= value)
        self.model.clear_hints()  # type: ignore[no-untyped-call]
        ones = set(chosen)
        for column, x in enumerate(self.x):
            self.model.add_hint(x, column in ones)


def solve_cpsat(
    problem: LineupProblem,
    *,
    seconds: float = 1e6,
    form: LinearForm | None = None,
    largest: int = LARGEST,
) -> Reference:
    """The optimum of all levels, or "infeasible", or "capped" after ``seconds`` of solving."""
    form = form or linear_form(problem)
    if not form.possible:
        return Reference("infeasible", None, None, 0.0)
    packed = blocks(form, largest)
    start = time.perf_counter()
    model = _Model(form)
    chosen: list[int] = []
    for number, (levels, objective) in enumerate(packed):
        left = seconds - (time.perf_counter() - start)
        status, chosen = model.minimise(objective, left) if left > 0 else ("capped", [])
        if status == "infeasible" and number > 0:
            raise SolverFailedError("infeasible after a level was settled")
        if status != "optimal":
            return Reference(status, None, None, time.perf_counter() - start)
        model.settle([form.objectives[level] for level in levels], chosen)
    return read_answer(problem, form, chosen, time.perf_counter() - start)
