"""Stage 4: level by level by CP-SAT, where branching has used up its nodes.

Each level's linear program on what the earlier levels left gives a bound. Where the best lineup
known does not reach it, CP-SAT searches the columns that reduced costs leave, from that lineup,
with one worker and a deterministic amount of work. The value found and the bound proven are
reported as they are.
"""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass

import numpy as np
from ortools.sat.python import cp_model

from drill.lineup.core.problem import Level
from drill.lineup.core.solver.certificate import LEVELS, held, worth
from drill.lineup.core.solver.exact import best_bound
from drill.lineup.core.solver.face import Face
from drill.lineup.core.solver.index import Ints
from drill.lineup.core.solver.linear import begin
from drill.lineup.core.solver.local import Solved, Solver
from drill.lineup.core.solver.matching import match
from drill.lineup.core.solver.model import AT_MOST, EQUAL, Model, Point
from drill.lineup.core.solver.packing import Pack
from drill.lineup.core.solver.part import Costs
from drill.lineup.core.solver.result import (
    Block,
    LevelResult,
    Limits,
    NoLineup,
    OutOfWork,
    Tell,
    nobody,
)
from drill.lineup.core.solver.splitting import widened

Variables = dict[int, cp_model.IntVar]
Term = tuple[int, int]
"""(column, value); arcs are numbered first"""


@dataclass
class _Search:
    """What is settled so far: columns left, levels held, the best lineup known."""

    model: Model
    face: Face
    limits: Limits
    best: Point | None
    proven: bool = True

    def level(self, level: Level) -> LevelResult:
        """Minimise one level on top of those settled, and settle it."""
        if level is Level.SPLIT:
            self._widen()
        pack = Pack((level,), (1,), 1)
        costs = Costs.of(self.model, pack, self.face)
        program = begin(self.model, match(self.model, costs, self.face))
        found = Solver(self.face, costs, program, None).solve(self.face)
        bounded = best_bound(self.model, pack, costs, found.prices, self.face)
        if bounded is None:
            raise OutOfWork("no bound was found")
        block, bound = bounded
        least = -(-bound.least // bound.scale)
        self._keep(block, found)
        optimal = self._value(block) <= least or self._search(level, least)
        if self.best is None:
            raise OutOfWork("no lineup was found within the allowed work")
        value = worth(self.model, block, self.best)
        optimal = optimal or value <= least
        left = bound.left(self.face, value)
        self.model, self.face = held(self.model, self.best, left, block)
        self.proven &= optimal
        if self.proven:
            return LevelResult(level, value, value, True)
        return LevelResult(level, value, least if level is Level.HOLES else None, False)

    def _widen(self) -> None:
        """Go on with the columns that the level needs, for what the levels before have left."""
        self.model, self.face = widened(self.model, self.face)
        if self.best is not None:
            self.best = self.model.point(self.best.arcs)

    def _value(self, block: Block) -> float:
        return np.inf if self.best is None else worth(self.model, block, self.best)

    def _keep(self, block: Block, found: Solved) -> None:
        """Take the program's answer where it is whole and better."""
        arcs = found.whole()
        if arcs is not None:
            point = self.model.point(arcs)
            if worth(self.model, block, point) < self._value(block):
                self.best = point

    def _search(self, level: Level, least: int) -> bool:
        """Bring ``best`` to the level's best; True when that is proven."""
        program, variables = _rows(self.model, self.face)
        cost = np.append(
            self.model.arc_cost(level, self.model.all_arcs), self.model.other_cost(level)
        )
        objective = _sum(variables, [(c, int(cost[c])) for c in variables if cost[c]])
        program.add(objective >= least)
        program.minimize(objective)
        if self.best is not None:
            ones = set(self.best.arcs.tolist())
            for column, variable in variables.items():
                other = column - self.model.arcs.size
                hint = column in ones if other < 0 else int(self.best.others[other])
                program.add_hint(variable, hint)
        solver = cp_model.CpSolver()
        solver.parameters.num_workers = 1
        solver.parameters.random_seed = 0
        solver.parameters.linearization_level = 2
        solver.parameters.max_deterministic_time = self.limits.deterministic_work
        status = solver.solve(program)
        if status == cp_model.INFEASIBLE:
            raise NoLineup("the rules leave no lineup")
        if status in (cp_model.OPTIMAL, cp_model.FEASIBLE):
            chosen = [
                column
                for column, variable in variables.items()
                if column < self.model.arcs.size and solver.value(variable)
            ]
            self.best = self.model.point(np.array(sorted(chosen), np.int64))
        return bool(status == cp_model.OPTIMAL)


def _rows(model: Model, face: Face) -> tuple[cp_model.CpModel, Variables]:
    program, first = cp_model.CpModel(), model.arcs.size
    counts = set() if model.split is None else set(model.split.spots.tolist())
    variables: Variables = {arc: program.new_bool_var("") for arc in face.arcs.tolist()}
    for other in np.flatnonzero(face.others).tolist():
        most = len(model.problem.segments) if other in counts else 1
        variables[first + other] = program.new_int_var(0, most, "")
    terms = _terms(model, face)
    for row, (sense, limit) in enumerate(
        zip(model.sense.tolist(), model.limit.tolist(), strict=True)
    ):
        total = _sum(variables, [t for t in terms[row] if t[0] in variables])
        if sense == EQUAL or face.tight[row]:
            program.add(total == limit)
        elif sense == AT_MOST:
            program.add(total <= limit)
        else:
            program.add(total >= limit)
    return program, variables


def _terms(model: Model, face: Face) -> dict[int, list[Term]]:
    """Row -> its columns on the face and their values."""
    terms: dict[int, list[Term]] = defaultdict(list)
    for family in model.families:
        values = np.broadcast_to(np.asarray(family.value_of(face.arcs)), face.arcs.shape)
        rows = family.row[face.arcs].tolist()
        for row, arc, value in zip(rows, face.arcs.tolist(), values.tolist(), strict=True):
            terms[row].append((arc, value))
    others = model.others.tocoo()
    entries = zip(others.row.tolist(), others.col.tolist(), others.data.tolist(), strict=True)
    for row, other, value in entries:
        terms[row].append((model.arcs.size + other, value))
    return terms


def _sum(variables: Variables, terms: list[Term]) -> cp_model.LinearExprT:
    return cp_model.LinearExpr.weighted_sum([variables[c] for c, _ in terms], [v for _, v in terms])


def solve_constraint(
    model: Model, limits: Limits, arcs: Ints | None, tell: Tell = nobody
) -> tuple[Ints, tuple[LevelResult, ...]]:
    """The best lineup found from one that is known, if any, and each level's value, bound and
    whether it is proven."""
    best = None if arcs is None else model.point(arcs)
    search = _Search(model, Face.whole(model), limits, best)
    results = []
    for level in LEVELS:
        tell(level)
        results.append(search.level(level))
    if search.best is None:
        raise OutOfWork("no lineup was found within the allowed work")
    return search.best.arcs, tuple(results)
