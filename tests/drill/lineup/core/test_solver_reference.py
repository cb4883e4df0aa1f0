"""The solver against two general solvers on small bands, where listing every lineup is hopeless."""

from __future__ import annotations

import functools
import random
from dataclasses import replace

import pytest

from drill.lineup.core.check import violations
from drill.lineup.core.lessons import Lessons
from drill.lineup.core.problem import (
    Lack,
    LineupProblem,
    Member,
    Pool,
    Seat,
    Skill,
    Spare,
    Wear,
)
from drill.lineup.core.solver import Stage, solve
from drill.lineup.core.solver.certificate import certify
from tests.reference import evaluate
from tests.reference.bands import small_band
from tests.reference.cpsat import solve_cpsat
from tests.reference.mip import solve_mip

TWO = ("pregame", "halftime")
FRACTIONAL = (40,)
FRACTIONAL_TWO = (29, 53)
"""Seeds of scarce bands in which the linear programme's answer is not whole."""


def _scarce(problem: LineupProblem, seed: int) -> LineupProblem:
    """Everything short at once: people, instruments, leaders, travel, and moves."""
    rng = random.Random(seed)
    segments = [segment.key for segment in problem.segments]
    pinned = {pin.member for pin in problem.pins}

    def away(member: Member) -> frozenset[str]:
        if member.key in pinned or rng.random() > 0.35:
            return member.away
        return member.away | set(rng.sample(segments, rng.randint(1, len(segments))))

    members = tuple(
        replace(m, away=away(m), must_travel=False, skills=_more(rng, problem, m.skills))
        for m in problem.members
    )
    present = sum(len(m.away) < len(segments) for m in members)
    return replace(
        problem,
        members=members,
        stock=tuple(
            (kind, max(1, rng.randint(count // 3, count))) for kind, count in problem.stock
        ),
        travel_limit=present - rng.randint(2, 6),
        max_moved=rng.choice((None, 8)),
    )


def _more(
    rng: random.Random, problem: LineupProblem, skills: tuple[Skill, ...]
) -> tuple[Skill, ...]:
    """A further part for every second member."""
    part = rng.choice(problem.parts).key
    if rng.random() < 0.5 or any(skill.part == part for skill in skills):
        return skills
    return (*skills, Skill(part, rng.random() < 0.5))


def _opened(problem: LineupProblem, seed: int) -> LineupProblem:
    """Weights, the other order of fairness and standing, and two seats left open."""
    rng = random.Random(seed)
    pinned = {(pin.segment, pin.spot) for pin in problem.pins}
    seats: list[Seat] = [seat for seat in evaluate.seats_of(problem) if seat not in pinned]
    settings = replace(problem.settings, use_weights=True, fairness_before_standing=True, salt=3)
    return replace(problem, left_open=frozenset(rng.sample(seats, 2)), settings=settings)


def _one_pool(problem: LineupProblem, seed: int) -> LineupProblem:
    """The alternates of all ranks in one list a part, in an order of its own."""
    rng = random.Random(seed)
    waiting = [m for m in problem.members if m.standing is not None]
    order = {m.key: n for n, m in enumerate(rng.sample(waiting, len(waiting)), 1)}
    members = tuple(replace(m, standing=order.get(m.key)) for m in problem.members)
    pool = (Pool.SECTION, Pool.BAND)[seed % 2]
    return replace(problem, members=members, settings=replace(problem.settings, pool=pool))


def _dressed(problem: LineupProblem, seed: int) -> LineupProblem:
    """A third of the members lacks a jacket or a hat, and there are fewer than would do."""
    rng = random.Random(seed)
    sizes = [str(size) for size in range(36, 48, 2)]

    def lacks(member: Member) -> tuple[Lack, ...]:
        found = []
        for kind in ("hat", "jacket"):
            if rng.random() < 0.35:
                first = rng.randrange(len(sizes))
                found.append(Lack(kind, tuple(sizes[first : first + rng.randint(1, 3)])))
        return tuple(found)

    parts = [p.key for p in problem.parts]
    wears = [
        Wear(g.key, part, kind)
        for g in problem.segments
        for part in parts
        for kind in ("hat", "jacket")
        if kind == "jacket" or g is problem.segments[0]
    ]
    spares = [Spare(k, size, rng.randint(0, 2)) for k in ("hat", "jacket") for size in sizes]
    return replace(
        problem,
        members=tuple(replace(m, lacks=lacks(m)) for m in problem.members),
        pins=(),
        max_moved=None,
        wears=tuple(wears),
        spares=tuple(spares),
    )


CASES = {
    **{f"side rules {n}": small_band(n) for n in range(8)},
    **{f"no side rules {n}": small_band(n, side_rules=False) for n in range(4)},
    **{f"two segments {n}": small_band(n, segments=TWO) for n in range(4)},
    **{f"scarce {n}": _scarce(small_band(n), n) for n in (*range(6), *FRACTIONAL)},
    **{
        f"scarce, two segments {n}": _scarce(small_band(n, segments=TWO), n)
        for n in (*range(4), *FRACTIONAL_TWO)
    },
    **{f"dressed {n}": _dressed(small_band(n), n) for n in range(6)},
    **{
        f"dressed, two segments {n}": _dressed(_scarce(small_band(n, segments=TWO), n), n)
        for n in range(6)
    },
    **{f"one pool {n}": _one_pool(small_band(n), n) for n in range(4)},
    **{f"weights {n}": _opened(small_band(n), n) for n in range(4)},
}


@functools.cache
def _solved(case: str) -> tuple[int, ...]:
    """The values of the solver, after every check that needs no other solver."""
    problem = CASES[case]
    lineup = solve(problem)
    assert evaluate.broken_rules(problem, lineup.placements) == []
    assert violations(problem, lineup.placements) == ()
    assert lineup.proven
    assert lineup.stage is Stage.CONSTRAINT or certify(problem, lineup)
    values = tuple(result.value for result in lineup.levels)
    assert evaluate.values(problem, lineup.placements) == values
    return values


@pytest.mark.source("HiGHS (highspy), its integer programme solver, level by level")
@pytest.mark.parametrize("case", CASES)
def test_an_integer_programme_finds_the_same_values(case: str) -> None:
    assert solve_mip(CASES[case]).values == _solved(case)


@pytest.mark.source("OR-Tools CP-SAT, one worker, level by level")
@pytest.mark.parametrize("case", CASES)
def test_a_constraint_solver_finds_the_same_values(case: str) -> None:
    assert solve_cpsat(CASES[case]).values == _solved(case)


@pytest.mark.parametrize("case", ["side rules 1", "no side rules 1", "scarce, two segments 1"])
def test_shuffled_rows_give_the_same_lineup(case: str) -> None:
    problem = CASES[case]
    rng = random.Random(5)
    shuffled = replace(
        problem,
        members=tuple(rng.sample(problem.members, len(problem.members))),
        spots=tuple(rng.sample(problem.spots, len(problem.spots))),
        reference=tuple(rng.sample(problem.reference, len(problem.reference))),
        relearning=Lessons.of(rng.sample(list(problem.relearning), len(problem.relearning))),
        stock=tuple(reversed(problem.stock)),
    )
    assert solve(shuffled) == solve(problem)
