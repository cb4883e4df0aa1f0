"""The synthetic bands are what they say: seeded, sized, and short of people, stock and travel."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import pytest

from drill.lineup.core.canonical import problem_hash
from drill.lineup.core.problem import LineupProblem
from tests.reference import evaluate
from tests.reference.bands import SIZES, band, rank_size, small_band
from tests.reference.mip import solve_mip


@pytest.mark.parametrize("spots", SIZES)
def test_a_band_has_its_size_and_shares(spots: int) -> None:
    problem = band(spots)
    ranks = spots // rank_size(spots)
    alternates = [m for m in problem.members if m.holds is None]
    away = sum(bool(m.away) for m in problem.members) / len(problem.members)
    assert len(problem.spots) == spots
    assert 12 <= rank_size(spots) <= 15
    assert 2 * ranks <= len(alternates) <= 3 * ranks
    assert 0.05 <= away <= 0.15
    assert not evaluate.pins_contradict(problem)


def test_the_same_seed_gives_the_same_band() -> None:
    assert problem_hash(band(192, seed=4)) == problem_hash(band(192, seed=4))
    assert problem_hash(band(192, seed=4)) != problem_hash(band(192, seed=5))


def test_without_side_rules_nothing_couples_the_seats() -> None:
    problem = band(192, side_rules=False)
    assert (problem.stock, problem.pins, problem.travel_limit) == ((), (), None)
    assert not any(rank.leaders for rank in problem.ranks)
    assert not any(member.must_travel for member in problem.members)


def _no_stock(problem: LineupProblem) -> LineupProblem:
    return replace(problem, stock=())


def _no_travel_limit(problem: LineupProblem) -> LineupProblem:
    return replace(problem, travel_limit=None)


@pytest.mark.parametrize("lift", [_no_stock, _no_travel_limit])
def test_stock_and_travel_bind_in_some_small_band(
    lift: Callable[[LineupProblem], LineupProblem],
) -> None:
    """Without the rule the same band has a better lineup."""

    def cost(problem: LineupProblem) -> tuple[int, ...]:
        values = solve_mip(problem).values
        assert values is not None
        return values

    assert any(cost(lift(small_band(seed))) < cost(small_band(seed)) for seed in range(8))
