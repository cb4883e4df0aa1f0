"""The lineup solver against general solvers on the same problems, in the same run.

Peers get the problem as finished columns and rows (their modelling time is not counted; ours is),
one thread, a fixed seed, and the levels packed as far as their tolerances bear. Wherever a peer
finishes, its eight values must equal ours, or the benchmark stops.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from functools import cached_property
from typing import Any

import numpy as np
from scipy.sparse import csr_matrix
from scipy.sparse.csgraph import min_weight_full_bipartite_matching

from drill.lineup.core.problem import Level, LineupProblem
from drill.lineup.core.solver import Lineup, NoLineup, solve
from drill.lineup.core.solver.certificate import certify
from tests.bench.ratios import Ratio, middle, timed
from tests.reference.bands import band
from tests.reference.cpsat import solve_cpsat
from tests.reference.linear_form import LinearForm, linear_form
from tests.reference.mip import Reference, solve_mip

Peer = Callable[[LineupProblem, LinearForm, float], Reference]


class DisagreementError(RuntimeError):
    """A peer proved other values than ours: no time is worth reporting."""


@dataclass
class Case:
    """One seeded band, our lineup of it (None where we failed or proved less) and our time."""

    problem: LineupProblem
    repeats: int

    @cached_property
    def form(self) -> LinearForm:
        return linear_form(self.problem)

    @cached_property
    def ours(self) -> tuple[float, Lineup | None]:
        """Median seconds, the first run not counted; a lineup that is not proven is none."""
        try:
            seconds, lineup = timed(lambda: solve(self.problem))
        except NoLineup:
            return 0.0, None
        if not lineup.proven:
            return seconds, None
        return timed(lambda: solve(self.problem), self.repeats)


@dataclass(frozen=True)
class Budget:
    """Seconds that each peer may spend on one problem."""

    constraint_solver: float = 60.0
    large: float = 60.0


def _as_it_comes(problem: LineupProblem, form: LinearForm, seconds: float) -> Reference:
    return solve_mip(problem, form=form, seconds=seconds, presolve=True)


def _without_presolve(problem: LineupProblem, form: LinearForm, seconds: float) -> Reference:
    return solve_mip(problem, form=form, seconds=seconds)


def _constraint_solver(problem: LineupProblem, form: LinearForm, seconds: float) -> Reference:
    return solve_cpsat(problem, form=form, seconds=seconds)


def against(
    name: str, peer_name: str, peer: Peer, cases: list[Case], goal: float, seconds: float
) -> Ratio:
    """How many times longer the peer takes, median over the cases."""
    ratios, ours, theirs = [], [], []
    capped, failed = 0, 0
    for case in cases:
        answer = peer(case.problem, case.form, seconds)
        capped += answer.status == "capped"
        mine, lineup = case.ours
        theirs.append(answer.seconds)
        if lineup is None:
            failed += 1
            ratios.append(0.0)
            continue
        if answer.values not in (None, tuple(r.value for r in lineup.levels)):
            raise DisagreementError(f"{name}, {peer_name}: {answer.values}, ours {lineup.levels}")
        ours.append(mine)
        ratios.append(answer.seconds / mine)
    value = middle(ratios)
    return Ratio(
        name,
        peer_name,
        value,
        goal,
        True,
        middle(ours),
        middle(theirs),
        len(cases),
        capped > 0,
        failed,
    )


Matching = tuple[np.ndarray[Any, Any], np.ndarray[Any, Any]]


def _sparse_call(form: LinearForm) -> Callable[[], Matching]:
    """One packed matching of seats to members or to a column of their own that means a hole."""
    seats = {seat: n for n, seat in enumerate(sorted({(g, s) for g, s, _ in form.arcs}))}
    members = {m: n for n, m in enumerate(sorted({m for _, _, m in form.arcs}))}
    moved = form.objectives[Level.MOVED].terms
    standing = form.objectives[Level.STANDING].terms
    weight = 2000 * form.seats
    cost = [
        2 * weight + moved.get(a, 0) * weight + standing.get(a, 0) + 1
        for a in range(len(form.arcs))
    ]
    rows = [seats[g, s] for g, s, _ in form.arcs] + list(range(len(seats)))
    columns = [members[m] for *_, m in form.arcs] + [len(members) + n for n in range(len(seats))]
    hole = 10 * weight * form.seats
    data = np.array(cost + [hole] * len(seats), dtype=float)
    shape = (len(seats), len(members) + len(seats))
    graph = csr_matrix((data, (rows, columns)), shape=shape)
    return lambda: min_weight_full_bipartite_matching(graph)


def _check_matching(case: Case, matching: Matching) -> None:
    """The matching must reach our holes, moves and standing."""
    form, lineup = case.form, case.ours[1]
    seats = sorted({(g, s) for g, s, _ in form.arcs})
    members = sorted({m for _, _, m in form.arcs})
    pairs = {(*seats[r], members[c]) for r, c in zip(*matching, strict=True) if c < len(members)}
    chosen = [column for column, arc in enumerate(form.arcs) if arc in pairs]
    for level in (Level.HOLES, Level.MOVED, Level.STANDING):
        if lineup is not None and form.objectives[level].value(chosen) != lineup.value(level):
            raise DisagreementError(f"the matching differs in {level.name}")


def without_side_rules(cases: list[Case]) -> Ratio:
    """Our whole solve, all eight levels and the proof, against one matching of three levels."""
    ours, theirs = [], []
    for case in cases:
        call = _sparse_call(case.form)
        call()
        seconds, matching = timed(call, case.repeats)
        _check_matching(case, matching)
        theirs.append(seconds)
        ours.append(case.ours[0])
    value = middle(a / b for a, b in zip(ours, theirs, strict=True))
    failed = sum(case.ours[1] is None for case in cases)
    return Ratio(
        "no side rules, 300 spots: ours /",
        "one SciPy sparse matching, three levels",
        value,
        2.0,
        False,
        middle(ours),
        middle(theirs),
        len(cases),
        failed=failed,
    )


def certificates(cases: list[Case]) -> Ratio:
    """Checking the proof against finding the lineup, wherever there is a certificate."""
    checks, solves = [], []
    for case in cases:
        seconds, lineup = case.ours
        if lineup is None or lineup.certificate is None:
            continue
        checks.append(_check_seconds(case, lineup))
        solves.append(seconds)
    return Ratio(
        "certificate, 300 spots: checking /",
        "solving, ours",
        middle(a / b for a, b in zip(checks, solves, strict=True)),
        0.1,
        False,
        middle(checks),
        middle(solves),
        len(checks),
    )


def _check_seconds(case: Case, lineup: Lineup) -> float:
    seconds, holds = timed(lambda: certify(case.problem, lineup), case.repeats)
    if not holds:
        raise DisagreementError("a certificate does not hold")
    return seconds


def lineup_ratios(budget: Budget) -> Iterator[Ratio]:
    """Every ratio of the lineup solver, as soon as it is measured."""
    plain = [Case(band(300, seed=seed, side_rules=False), 9) for seed in range(1, 6)]
    full = [Case(band(300, seed=seed), 5) for seed in range(1, 6)]
    large = [Case(band(1008, seed=seed), 1) for seed in range(1, 4)]
    small, big = "all side rules, 300 spots: / ours", "all side rules, 1,008: / ours"
    as_it_comes, tuned = "HiGHS MIP staged, as it comes", "HiGHS MIP staged, presolve off"
    yield without_side_rules(plain)
    yield certificates(full)
    yield against(small, tuned, _without_presolve, full, 250, 60)
    yield against(small, as_it_comes, _as_it_comes, full[:3], 250, 60)
    yield against(
        small,
        "CP-SAT staged, tuned, one worker",
        _constraint_solver,
        full[:2],
        2500,
        budget.constraint_solver,
    )
    yield against(big, tuned, _without_presolve, large, 1000, budget.large)
    yield against(big, as_it_comes, _as_it_comes, large[:1], 1000, budget.large)
