"""Callbacks: chances after more looks in closed form and by draws, and the best numbers tried."""

from __future__ import annotations

from itertools import pairwise, product

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import multivariate_normal, norm

from roster.tryouts.core.callbacks import MOST_EACH, best_numbers, callbacks, wrong_after
from roster.tryouts.core.looks import Floats
from tests.examples import examples

CHANCES = (0.5, 0.62, 0.8, 0.95, 0.3, 0.02)


def one(chance: float, spread: float, noise: float, looks: int) -> float:
    return float(wrong_after(np.array([chance]), np.array([spread]), noise, looks)[0])


@pytest.mark.source("Sheppard 1899: at the cut itself the chance of error is atan(noise/spread)/pi")
@pytest.mark.parametrize("looks", [1, 2, 4])
def test_at_the_cut_the_chance_after_is_an_angle(looks: int) -> None:
    assert one(0.5, 3, 4, looks) == pytest.approx(
        np.arctan(4 / (3 * looks**0.5)) / np.pi, abs=1e-12
    )


@pytest.mark.source(
    "SciPy, multivariate_normal: truth and what will be believed of it differ in sign"
)
@pytest.mark.parametrize("chance", CHANCES)
@pytest.mark.parametrize(("spread", "noise"), [(1.0, 8.0), (3.0, 3.0), (8.0, 2.0)])
def test_the_chance_after_is_that_of_two_normals(
    chance: float, spread: float, noise: float
) -> None:
    for looks in (1, 3):
        moves = np.sqrt(spread**2 / (spread**2 + noise**2 / looks))
        away = norm.ppf(chance)
        both = multivariate_normal(mean=[0, 0], cov=[[1, moves], [moves, 1]])
        below = both.cdf([-away, -away / moves])
        differ = norm.cdf(-away) + norm.cdf(-away / moves) - 2 * below
        assert one(chance, spread, noise, looks) == pytest.approx(differ, abs=1e-6)


@pytest.mark.parametrize("chance", CHANCES)
@pytest.mark.parametrize("looks", [1, 3])
def test_the_chance_after_is_the_share_of_weeks_decided_wrongly(chance: float, looks: int) -> None:
    """100,000 draws of a truth around the belief and of further looks around the truth."""
    rng = np.random.default_rng(round(100 * chance) + looks)
    spread, noise, draws = 4.0, 5.0, 100_000
    mean = spread * norm.ppf(chance)
    truth = rng.normal(mean, spread, draws)
    seen = truth + rng.normal(0, noise / np.sqrt(looks), draws)
    precision, more = 1 / spread**2, looks / noise**2
    then = (precision * mean + more * seen) / (precision + more)
    wrong = np.mean((then > 0) != (truth > 0))
    # Three and a half standard errors of a share of one half are .0055.
    assert one(chance, spread, noise, looks) == pytest.approx(wrong, abs=0.0055)


@examples(150, 1500)
@given(st.floats(0, 1), st.floats(0.01, 30), st.floats(0.01, 30))
def test_the_chance_of_error_falls_with_looks_and_is_never_above_now(
    chance: float, spread: float, noise: float
) -> None:
    found = [one(chance, spread, noise, looks) for looks in range(7)]
    assert found[0] == min(chance, 1 - chance)
    assert all(0 <= later <= before + 1e-12 for before, later in pairwise(found))
    assert one(1 - chance, spread, noise, 2) == pytest.approx(found[2], abs=1e-9)


def test_looks_tell_nothing_of_what_is_certain() -> None:
    assert one(1, 3, 4, 2) == one(0, 3, 4, 2) == 0
    assert one(0.7, 0, 4, 2) == pytest.approx(0.3)


def remaining(chance: Floats, spread: Floats, noise: float, numbers: tuple[int, ...]) -> float:
    return sum(
        one(float(c), float(s), noise, number)
        for c, s, number in zip(chance, spread, numbers, strict=True)
    )


@examples(60, 500)
@given(
    st.lists(st.tuples(st.floats(0.001, 0.999), st.floats(0.5, 8)), min_size=1, max_size=4),
    st.floats(0.5, 10),
    st.integers(0, 7),
)
def test_no_other_numbers_of_looks_leave_fewer_wrong_decisions(
    people: list[tuple[float, float]], noise: float, looks: int
) -> None:
    chance, spread = (np.array([person[i] for person in people]) for i in (0, 1))
    numbers = best_numbers(chance, spread, noise, looks)
    assert sum(numbers) <= looks and max(numbers) <= MOST_EACH
    every = product(range(MOST_EACH + 1), repeat=len(people))
    least = min(remaining(chance, spread, noise, n) for n in every if sum(n) <= looks)
    assert remaining(chance, spread, noise, numbers) == pytest.approx(least, abs=1e-9)


def test_looks_go_where_it_is_close() -> None:
    chance = np.array([0.99, 0.55, 0.5, 0.02])
    numbers = best_numbers(chance, np.full(4, 4.0), 4.0, 4)
    assert numbers[1] + numbers[2] == 4 and numbers[0] == numbers[3] == 0


def test_the_list_names_evaluators_who_may_see_and_keeps_loads_level() -> None:
    chance = np.array([0.5, 0.52, 0.999])
    found = callbacks(
        chance, np.full(3, 4.0), 4.0, 4, may_see=[{0, 1, 2}, {1, 2, 3}, {0}], load=[5, 9, 0, 0]
    )
    assert [it.candidate for it in found] == [0, 1]
    assert found[0].evaluators == (2, 0) and found[1].evaluators == (3, 2)
    for it in found:
        assert it.now == pytest.approx(min(chance[it.candidate], 1 - chance[it.candidate]))
        assert it.after == pytest.approx(one(float(chance[it.candidate]), 4, 4, 2))


def test_the_most_gained_stands_first() -> None:
    chance, spread = np.array([0.95, 0.5, 0.7]), np.array([4.0, 1.0, 6.0])
    found = callbacks(chance, spread, 4.0, 6, may_see=[range(4)] * 3, load=[0] * 4)
    gains = [it.now - it.after for it in found]
    assert [it.candidate for it in found] == [2, 1], "not who is closest to the cut"
    assert gains == sorted(gains, reverse=True)


def test_who_is_seen_by_nobody_else_has_no_callback() -> None:
    found = callbacks(np.array([0.5]), np.array([4.0]), 4.0, 3, may_see=[()], load=[0])
    assert found == []


def test_without_looks_there_is_no_list() -> None:
    assert callbacks(np.array([0.5]), np.array([4.0]), 4.0, 0, may_see=[{0}], load=[0]) == []
