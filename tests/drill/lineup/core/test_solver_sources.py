"""The solver on published assignment problems.

A cost matrix becomes a lineup whose rows are spots and whose columns are alternates of no rank,
qualified for every spot. With all seats filled, levels 1-4 and 6 are the same for every answer, so
level 5 (relearning, 0-255) is the cost of the assignment. Matrices are shrunk by their common
divisor; one whose costs still do not fit 0-255 is skipped by name, because no shift of rows and
columns makes it fit.
"""

from __future__ import annotations

import json
import math
import os
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from scipy.optimize import linear_sum_assignment

from drill.lineup.core.lessons import Lessons
from drill.lineup.core.problem import (
    MAX_RELEARNING,
    Level,
    LineupProblem,
    Member,
    Origin,
    Part,
    Segment,
    Skill,
    Spot,
)
from drill.lineup.core.solver import Lineup, solve
from drill.lineup.core.solver.certificate import certify

SOURCES = Path(__file__).parents[3] / "sources"
EXAMPLES: list[dict[str, Any]] = json.loads((SOURCES / "assignment_examples.json").read_text())
HALL: dict[str, Any] = json.loads((SOURCES / "hall_kuhn_1955.json").read_text())
OR_LIBRARY: dict[str, Any] = json.loads((SOURCES / "or_library_assign.json").read_text())
TOO_WIDE = {"scipy test 2 rect"}

Matrix = list[list[int]]


def as_lineup(costs: Matrix, allowed: Matrix | None = None) -> LineupProblem:
    """Rows as spots, columns as members; ``allowed`` 0 means this member cannot march that spot."""
    rows, columns = range(len(costs)), range(len(costs[0]))
    may = {(r, c) for r in rows for c in columns if allowed is None or allowed[r][c]}
    spots = tuple(Spot(f"s{r:03d}", "1", f"p{r:03d}") for r in rows)
    return LineupProblem(
        members=tuple(
            Member(f"m{c:03d}", tuple(Skill(spots[r].part, True) for r in rows if (r, c) in may))
            for c in columns
        ),
        spots=spots,
        segments=(Segment("g", tuple(spot.key for spot in spots)),),
        parts=tuple(Part(spot.part, "any") for spot in spots),
        relearning=Lessons.of((f"m{c:03d}", f"s{r:03d}", costs[r][c]) for r, c in sorted(may)),
    )


def columns_of(lineup: Lineup) -> list[int | None]:
    """The column of each row, in the order of the rows."""
    placed = sorted(lineup.placements, key=lambda p: p.spot)
    return [int(p.member[1:]) if p.member else None for p in placed]


def solved_cost(costs: Matrix) -> tuple[int, list[int | None]]:
    """The cost that the solver reaches, and its columns; the certificate must hold."""
    problem = as_lineup(costs)
    lineup = solve(problem)
    assert lineup.proven
    assert certify(problem, lineup)
    assert lineup.value(Level.HOLES) == 0
    columns = columns_of(lineup)
    cost = sum(row[c] for row, c in zip(costs, columns, strict=True) if c is not None)
    assert cost == lineup.value(Level.RELEARNING)
    return cost, columns


def example(name: str) -> dict[str, Any]:
    return next(row for row in EXAMPLES if row["name"] == name)


def check_example(name: str) -> None:
    row = example(name)
    matrix = np.array(row["matrix"], dtype=int)
    largest = int(matrix.max())
    costs = matrix if row["sense"] == "min" else largest - matrix
    divisor = math.gcd(*costs.ravel().tolist())
    assert costs.max() // divisor <= MAX_RELEARNING
    cost, columns = solved_cost((costs // divisor).tolist())
    total = cost * divisor if row["sense"] == "min" else largest * len(costs) - cost
    assert total == row["optimum"]
    if row["n_optima"] == 1:
        assert columns == row["assignment"]


@pytest.mark.source("SciPy, linear_sum_assignment docstring; munkres 3.0.0 docstring")
def test_the_documented_example_of_two_libraries() -> None:
    check_example("scipy doc / munkres doc")


@pytest.mark.source("SciPy, test_matching.py: matrices and optima")
@pytest.mark.parametrize("name", ["scipy test 1", "scipy test 3", "scipy test 4 rect"])
def test_matrices_of_a_library_s_own_tests(name: str) -> None:
    check_example(name)


@pytest.mark.source("munkres 1.1 and earlier, docstring (from memory)")
def test_the_older_documented_example() -> None:
    check_example("munkres classic")


@pytest.mark.source("Kuhn 1955, Naval Research Logistics Quarterly 2:83-97 (from memory)")
def test_kuhn_s_rating_matrix() -> None:
    check_example("Kuhn 1955 rating matrix (max)")


def test_every_example_of_the_table_is_run_or_named_as_too_wide() -> None:
    run = {
        "scipy doc / munkres doc",
        "scipy test 1",
        "scipy test 3",
        "scipy test 4 rect",
        "munkres classic",
        "Kuhn 1955 rating matrix (max)",
    }
    assert run | TOO_WIDE == {row["name"] for row in EXAMPLES}


@pytest.mark.source("Kuhn 1955, qualification matrix (from memory); Hall's theorem")
def test_the_hole_sits_in_the_published_violator() -> None:
    """People are spots here and jobs the members who can march them."""
    matrix: Matrix = HALL["qualification"]
    lineup = solve(as_lineup([[0] * 4 for _ in matrix], matrix))
    columns = columns_of(lineup)
    assert len(columns) - columns.count(None) == HALL["max_matching"]
    assert lineup.value(Level.HOLES) == HALL["deficiency"]
    assert [p.origin for p in lineup.placements].count(Origin.HOLE) == HALL["deficiency"]
    rows, jobs = _closure(matrix, columns)
    assert [r + 1 for r in sorted(rows)] == HALL["hall_violator_people_1based"]
    assert [j + 1 for j in sorted(jobs)] == HALL["neighbourhood_jobs_1based"]


def _closure(matrix: Matrix, columns: list[int | None]) -> tuple[set[int], set[int]]:
    """Rows and columns that alternating paths reach from the unfilled rows."""
    rows = {r for r, c in enumerate(columns) if c is None}
    jobs: set[int] = set()
    while True:
        more = {c for r in rows for c, can in enumerate(matrix[r]) if can} - jobs
        if not more:
            return rows, jobs
        jobs |= more
        rows |= {r for r, c in enumerate(columns) if c in more}


def _or_library() -> Path:
    """The folder of the instances: skipped where it is not named, an error on the check machine."""
    folder = os.environ.get("BANDOPS_ORLIB")
    if folder:
        return Path(folder)
    reason = "OR-LIBRARY NOT CHECKED: set BANDOPS_ORLIB to the folder of assign100.txt"
    if os.environ.get("CI") == "true":
        pytest.fail(reason)
    pytest.skip(reason)


@pytest.mark.source(
    "Beasley 1990, OR-Library, J. Oper. Res. Soc. 41:1069-1072, assign100 "
    "(200 and 400: optima from memory)"
)
@pytest.mark.parametrize("name", ["assign100", "assign200", "assign400"])
def test_or_library_optima(name: str) -> None:
    optimum = {**OR_LIBRARY["verified_here"], **OR_LIBRARY["memory"]}[name]
    numbers = [int(word) for word in (_or_library() / f"{name}.txt").read_text().split()]
    size = numbers[0]
    costs = np.array(numbers[1:]).reshape(size, size)
    assert solved_cost(costs.tolist())[0] == optimum


@pytest.mark.source("SciPy, linear_sum_assignment (modified Jonker-Volgenant)")
@pytest.mark.parametrize("seed", range(12))
def test_random_matrices_cost_what_scipy_finds(seed: int) -> None:
    rng = np.random.default_rng(seed)
    rows = int(rng.integers(1, 40))
    columns = rows + int(rng.integers(0, 10))
    highest = int(rng.choice([1, 9, MAX_RELEARNING]))
    costs = rng.integers(0, highest + 1, size=(rows, columns))
    picked = linear_sum_assignment(costs)
    assert solved_cost(costs.tolist())[0] == int(costs[picked].sum())


@pytest.mark.source("SciPy, linear_sum_assignment (modified Jonker-Volgenant)")
@pytest.mark.parametrize("seed", range(6))
def test_with_too_few_members_the_holes_are_as_few_as_scipy_s(seed: int) -> None:
    """A sparse matrix: SciPy counts the seats that can be filled at all, then their least cost."""
    rng = np.random.default_rng(100 + seed)
    rows, columns = 25, 22
    allowed = (rng.random((rows, columns)) < 0.12).astype(int)
    costs = rng.integers(0, MAX_RELEARNING + 1, size=(rows, columns))
    lineup = solve(as_lineup(costs.tolist(), allowed.tolist()))
    value = np.where(allowed, costs - 10**5, 0)
    picked = linear_sum_assignment(value)
    filled = int(allowed[picked].sum())
    assert lineup.value(Level.HOLES) == rows - filled
    assert lineup.value(Level.RELEARNING) == int((costs * allowed)[picked].sum())
