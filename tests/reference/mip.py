"""The lineup by a general integer programme (HiGHS), one block of levels after the other.

Objectives are packed to 2^20 at most, and a settled block becomes one row for each of its levels:
with larger numbers, or the packed block as a row, the solver's tolerances are wider than the
differences that matter and its presolve cuts off the answer.
"""

from __future__ import annotations

import time
from dataclasses import dataclass

import highspy
import numpy as np

from drill.lineup.core.problem import Level, LineupProblem, Placement
from tests.reference.brute_force import as_placements
from tests.reference.linear_form import LinearForm, Objective, Terms, blocks, linear_form

LARGEST = 2**20


class SolverFailedError(RuntimeError):
    """The reference solver contradicted itself, so it says nothing about the lineup."""


@dataclass(frozen=True)
class Reference:
    """What a reference solver found.

    ``status`` is "optimal", "infeasible" or "capped" (out of time; ``values`` are then None).
    """

    status: str
    values: tuple[int, ...] | None
    placements: tuple[Placement, ...] | None
    seconds: float


def read_answer(
    problem: LineupProblem, form: LinearForm, chosen: list[int], seconds: float
) -> Reference:
    """The chosen columns as placements, with the values that the form gives them."""
    arcs = [form.arcs[c] for c in chosen if c < len(form.arcs)]
    values = tuple(form.objectives[level].value(chosen) for level in Level)
    placements = as_placements(problem, {(g, s): m for g, s, m in arcs})
    return Reference("optimal", values, placements, seconds)


class _Model:
    """One HiGHS model to which each settled block is added as a row."""

    def __init__(self, form: LinearForm, presolve: bool) -> None:
        self.form = form
        self.highs = highspy.Highs()  # type: ignore[no-untyped-call]
        self.highs.silent()
        self.highs.setOptionValue("presolve", "on" if presolve else "off")
        self.highs.setOptionValue("threads", 1)
        self.highs.setOptionValue("random_seed", 1)
        self.highs.setOptionValue("mip_rel_gap", 0.0)
        self.highs.setOptionValue("mip_abs_gap", 0.5)
        n = form.columns
        self.highs.addVars(n, np.zeros(n), np.ones(n))
        kinds = np.full(n, highspy.HighsVarType.kInteger)
        self.highs.changeColsIntegrality(n, np.arange(n, dtype=np.int32), kinds)
        for row in form.rows:
            self.add_row(row.terms, row.low, row.high)

    def add_row(self, terms: Terms, low: float | None, high: float | None) -> None:
        kept = {c: v for c, v in terms.items() if v}
        self.highs.addRow(
            -highspy.kHighsInf if low is None else low,
            highspy.kHighsInf if high is None else high,
            len(kept),
            np.array(list(kept), dtype=np.int32),
            np.array(list(kept.values()), dtype=float),
        )

    def minimise(self, objective: Objective, seconds: float) -> tuple[str, list[int]]:
        n = self.form.columns
        cost = np.zeros(n)
        for column, value in objective.terms.items():
            cost[column] = value
        self.highs.changeColsCost(n, np.arange(n, dtype=np.int32), cost)
        self.highs.setOptionValue("time_limit", seconds)
        self.highs.run()
        status = self.highs.getModelStatus()
        if status == highspy.HighsModelStatus.kInfeasible:
            return "infeasible", []
        if status == highspy.HighsModelStatus.kTimeLimit:
            return "capped", []
        if status not in (highspy.HighsModelStatus.kOptimal, highspy.HighsModelStatus.kModelEmpty):
            raise SolverFailedError(str(status))
        x = np.array(self.highs.getSolution().col_value)
        return "optimal", [int(c) for c in np.flatnonzero(x > 0.5)]


def solve_mip(
    problem: LineupProblem,
    *,
    seconds: float = 1e6,
    form: LinearForm | None = None,
    presolve: bool = False,
) -> Reference:
    """The optimum of all levels, or "infeasible", or "capped" after ``seconds`` of solving.

    Without its presolve the solver is some ten times quicker on a band: the settled levels are
    long rows in which presolve searches and finds little.
    """
    form = form or linear_form(problem)
    if not form.possible:
        return Reference("infeasible", None, None, 0.0)
    packed = blocks(form, LARGEST)
    start = time.perf_counter()
    model = _Model(form, presolve)
    chosen: list[int] = []
    for number, (levels, objective) in enumerate(packed):
        left = seconds - (time.perf_counter() - start)
        status, chosen = model.minimise(objective, left) if left > 0 else ("capped", [])
        if status == "infeasible" and number > 0:
            raise SolverFailedError("infeasible after a level was settled")
        if status != "optimal":
            return Reference(status, None, None, time.perf_counter() - start)
        for level in levels:
            settled = form.objectives[level]
            model.add_row(settled.terms, None, settled.value(chosen) - settled.constant)
    return read_answer(problem, form, chosen, time.perf_counter() - start)
