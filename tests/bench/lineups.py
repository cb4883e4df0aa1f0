"""The lineup solver against general solvers on the same problems, in the same run.

Peers get the problem as finished columns and rows and so do we (``from arrays``: whole numbers
in, whole numbers out, the time of making them not counted on either side); a second line counts
ours from the rows of a problem never seen before to its placements. One thread, a fixed seed, and
the levels packed as far as their tolerances bear; of the peer's settings the best counts.
Wherever a peer finishes, its eight values must equal ours, or the benchmark stops.
"""

from __future__ import annotations

import resource
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from dataclasses import dataclass, fields, replace
from functools import cached_property, partial
from typing import Any

import numpy as np
from scipy.sparse import csr_matrix
from scipy.sparse.csgraph import min_weight_full_bipartite_matching

from drill.lineup.core.canonical import canonical
from drill.lineup.core.problem import Level, LineupProblem
from drill.lineup.core.solver import Lineup, NoLineup, Stage, solve
from drill.lineup.core.solver import best_of as best_numbers
from drill.lineup.core.solver.building import build_model
from drill.lineup.core.solver.certificate import certify, proves
from drill.lineup.core.solver.index import Ints
from drill.lineup.core.solver.model import Model
from tests.bench.ratios import Ratio, middle, timed
from tests.reference.bands import band
from tests.reference.cpsat import solve_cpsat
from tests.reference.linear_form import LinearForm, linear_form
from tests.reference.mip import Reference, solve_mip

SEEDS = (1, 2, 3, 4, 5)
FRACTIONAL = (3, 4, 7)
"""seeds of bands of 1,008 whose linear program has no whole answer"""
Peer = Callable[[LineupProblem, LinearForm, float], Reference]


class DisagreementError(RuntimeError):
    """A peer proved other values than ours: no time is worth reporting."""


def anew(problem: LineupProblem) -> LineupProblem:
    """The same problem of rows that nothing was kept of."""
    rows = {f.name: getattr(problem, f.name) for f in fields(problem)}
    made: dict[str, Any] = {
        name: tuple(iter(row)) for name, row in rows.items() if isinstance(row, tuple)
    }
    return replace(problem, **made)


@dataclass
class Case:
    """One seeded band, our lineup of it (None where we failed or proved less) and our times."""

    problem: LineupProblem
    repeats: int

    @cached_property
    def form(self) -> LinearForm:
        return linear_form(self.problem)

    @cached_property
    def lineup(self) -> Lineup | None:
        """A lineup that is not proven is none."""
        try:
            lineup = solve(self.problem)
        except NoLineup:
            return None
        return lineup if lineup.proven else None

    @cached_property
    def ties(self) -> Ints:
        """What the peers' form has from the first and ours makes as they come."""
        model = build_model(canonical(self.problem))
        return model.arcs.tie_costs(model.all_arcs)

    def model(self) -> Model:
        """Finished columns and rows with the costs of every level, nothing solved yet."""
        model = build_model(canonical(anew(self.problem)))
        model.arcs.tie[:] = self.ties
        return model

    def from_arrays(self) -> float:
        """Median seconds from finished columns and rows to the answer in numbers."""
        return timed(best_numbers, self.repeats, self.model)[0]

    def from_rows(self) -> float:
        """Median seconds from the rows."""
        return timed(solve, self.repeats, partial(anew, self.problem))[0]


@dataclass(frozen=True)
class Answer:
    """What a peer took, and whether it was stopped."""

    seconds: float
    capped: bool


def best_of(case: Case, peers: list[Peer], seconds: float) -> Answer:
    """The fastest of the settings; each later one is stopped where it cannot be the fastest."""
    best = Answer(seconds, True)
    for peer in peers:
        answer = peer(case.problem, case.form, best.seconds)
        lineup = case.lineup
        if lineup is not None and answer.values not in (None, _values(lineup)):
            raise DisagreementError(f"{answer.values}, ours {lineup.levels}")
        if answer.status != "capped":
            best = Answer(answer.seconds, False)
    return best


def _values(lineup: Lineup) -> tuple[int, ...]:
    return tuple(result.value for result in lineup.levels)


def _as_it_comes(problem: LineupProblem, form: LinearForm, seconds: float) -> Reference:
    return solve_mip(problem, form=form, seconds=seconds, presolve=True)


def _without_presolve(problem: LineupProblem, form: LinearForm, seconds: float) -> Reference:
    return solve_mip(problem, form=form, seconds=seconds)


def _constraint_solver(problem: LineupProblem, form: LinearForm, seconds: float) -> Reference:
    return solve_cpsat(problem, form=form, seconds=seconds)


MIP = "HiGHS MIP staged, the best of its settings"
CP_SAT = "CP-SAT staged, tuned, one worker"


def against(
    name: str, peer: str, peers: list[Peer], cases: list[Case], goals: tuple[float, float],
    seconds: float,
) -> Iterator[Ratio]:  # fmt: skip
    """How many times longer the peer takes than we from arrays, and than we from rows."""
    theirs, arrays, rows = [], [], []
    for case in cases:
        theirs.append(best_of(case, peers, seconds))
        # At once after the peer: a machine is not always as fast.
        arrays.append(case.from_arrays())
        rows.append(case.from_rows())
    for word, ours, goal in zip(("arrays", "rows"), (arrays, rows), goals, strict=True):
        pairs = zip(cases, ours, theirs, strict=True)
        yield Ratio(
            f"{name}: / ours from {word}",
            peer,
            [their.seconds / mine if case.lineup else 0.0 for case, mine, their in pairs],
            goal,
            True,
            middle(ours),
            middle(answer.seconds for answer in theirs),
            capped=any(answer.capped for answer in theirs),
            failed=sum(case.lineup is None for case in cases),
        )


def _calls(form: LinearForm) -> Callable[[], None]:
    """One sparse matching a level: seats to members or to a column of their own, a hole."""
    seats = {seat: n for n, seat in enumerate(sorted({(g, s) for g, s, _ in form.arcs}))}
    members = {m: n for n, m in enumerate(sorted({m for _, _, m in form.arcs}))}
    rows = [seats[g, s] for g, s, _ in form.arcs] + list(range(len(seats)))
    columns = [members[m] for *_, m in form.arcs] + [len(members) + n for n in range(len(seats))]
    shape = (len(seats), len(members) + len(seats))
    graphs = []
    for level in Level:
        terms = form.objectives[level].terms
        cost = np.array([terms.get(a, 0) for a in range(len(form.arcs))] + [0] * len(seats), float)
        graphs.append(csr_matrix((cost - cost.min() + 1, (rows, columns)), shape=shape))

    def call() -> None:
        for graph in graphs:
            min_weight_full_bipartite_matching(graph)

    return call


def without_side_rules(cases: list[Case]) -> Iterator[Ratio]:
    """Our whole solve, all eight levels and the proof, against eight matchings of one level each,
    which settle nothing between them."""
    theirs, arrays, rows = [], [], []
    for case in cases:
        call = _calls(case.form)
        call()
        start = time.perf_counter()
        for _ in range(case.repeats):
            call()
        theirs.append((time.perf_counter() - start) / case.repeats)
        arrays.append(case.from_arrays())
        rows.append(case.from_rows())
    one = middle(theirs) / len(Level)
    for word, ours, goal in (("arrays", arrays, 2.0), ("rows", rows, 6.0)):
        yield Ratio(
            f"no side rules, 300: ours from {word} /",
            "one SciPy sparse matching a level",
            [a / b for a, b in zip(ours, theirs, strict=True)],
            goal,
            False,
            middle(ours),
            middle(theirs),
            failed=sum(case.lineup is None for case in cases),
            note=f"{middle(ours) / one:.3g} x a single matching",
        )


def certificates(cases: list[Case]) -> Ratio:
    """Checking the proof against finding the lineup, both from arrays."""
    checks, solves = [], []
    for case in cases:
        lineup = case.lineup
        if lineup is None or lineup.certificate is None:
            continue
        if not certify(case.problem, lineup):
            raise DisagreementError("a certificate does not hold")
        model = case.model()
        point, certificate = model.point_of(lineup.placements), lineup.certificate
        proves(model, point, certificate)
        checks.append(timed(partial(proves, model, point, certificate), case.repeats)[0])
        solves.append(case.from_arrays())
    return Ratio(
        "certificate, 300 spots: checking /",
        "solving, ours, from arrays",
        [a / b for a, b in zip(checks, solves, strict=True)],
        0.1,
        False,
        middle(checks),
        middle(solves),
    )


def fractional(seeds: tuple[int, ...]) -> Ratio:
    """Seconds from rows to proof where the linear program has no whole answer."""
    found = []
    for seed in seeds:
        seconds, lineup = timed(solve, 1, partial(anew, band(1008, seed=seed)))
        if lineup.stage is not Stage.BRANCHING or lineup.certificate is None:
            raise DisagreementError(f"seed {seed} is not fractional, or not proven")
        found.append(seconds)
    return Ratio("1,008 spots, fractional: ours /", "one second", found, 1.0, False,
                 middle(found), 1.0)  # fmt: skip


LARGEST = "from tests.bench.lineups import largest; largest({seed})"


def largest(seed: int) -> None:
    """Print seconds and gigabytes of the largest band, in a process of its own."""
    problem = band(5004, seed=seed)
    seconds, lineup = timed(lambda: solve(problem))
    if not lineup.proven or not certify(problem, lineup):
        raise DisagreementError("the largest band is not proven")
    memory = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    print(seconds, memory / (1e9 if sys.platform == "darwin" else 1e6))


def largest_bands(seeds: tuple[int, ...]) -> Iterator[Ratio]:
    """5,004 spots with all side rules: seconds against ten, and memory against a gigabyte."""
    found = []
    for seed in seeds:
        command = [sys.executable, "-c", LARGEST.format(seed=seed)]
        said = subprocess.run(command, check=True, capture_output=True, text=True).stdout
        found.append([float(word) for word in said.split()[-2:]])
    seconds, memory = ([row[n] for row in found] for n in (0, 1))
    yield Ratio("5,004 spots, all side rules: ours /", "ten seconds", [s / 10 for s in seconds],
                1.0, False, middle(seconds), 10.0)  # fmt: skip
    yield Ratio("5,004 spots, memory: ours /", "a gigabyte", memory, 1.0, False, middle(memory),
                1.0, unit="GB")  # fmt: skip


def lineup_ratios(seconds: float) -> Iterator[Ratio]:
    """Every ratio of the lineup solver, as soon as it is measured; a peer may spend so many
    seconds on one problem."""
    plain = [Case(band(300, seed=seed, side_rules=False), 15) for seed in SEEDS]
    full = [Case(band(300, seed=seed), 9) for seed in SEEDS]
    large = [Case(band(1008, seed=seed), 9) for seed in SEEDS]
    yield from without_side_rules(plain)
    yield certificates(full)
    yield fractional(FRACTIONAL)
    yield from largest_bands((1, 2, 3))
    settings: list[Peer] = [_without_presolve, _as_it_comes]
    yield from against("300 spots, all rules", MIP, settings, full, (100, 75), seconds)
    yield from against("1,008 spots, all rules", MIP, settings, large, (500, 300), seconds)
    yield from against("300 spots, all rules", CP_SAT, [_constraint_solver], full[:1],
                       (2500, 1875), seconds)  # fmt: skip
