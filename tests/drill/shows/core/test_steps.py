"""Steps: how large they are, which way they go, and what limits them."""

from __future__ import annotations

import math
from fractions import Fraction

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from drill.field.core.field import UNITS_PER_INCH, UNITS_PER_STEP, units
from drill.shows.core.moves import (
    Heading,
    Limit,
    Limits,
    Move,
    PathKind,
    Step,
    Way,
    heading,
    large_steps,
    to_5,
)
from tests.drill.shows.core.straight_moves import LIMITS, S10, Point, at, move

STEP = "common practice, no source: n-to-5 is n steps to five yards"


def steps_of(m: Move, instrument: str = "", limits: Limits = LIMITS) -> list[tuple[int, Step]]:
    return list(large_steps(m, (instrument,) * len(m.starts), limits))


@pytest.mark.source(S10)
def test_s10_the_impossible_step() -> None:
    limits = Limits(36 * UNITS_PER_INCH, UNITS_PER_STEP, (Limit(units(8) // 6, "sousaphone"),))
    made = move([(0, 0)], [(20, 15)], 16)
    ((row, step),) = steps_of(made, "sousaphone", limits)
    assert (row, step.distance) == (0, 25)
    assert step.to_5 == 5.12
    assert step.inches == 35.15625
    assert f"{step.inches:.1f}" == "35.2"
    assert step.enough_counts == 20
    assert step.to_5_in(20) == 6.4
    assert not steps_of(made, "trumpet", limits), "36 inches is everybody else's limit"


@pytest.mark.source(STEP)
@pytest.mark.parametrize(
    ("there", "counts", "inches", "n"),
    [
        ((8, 6), 16, 14.0625, 12.8),
        ((6, 8), 8, 28.125, 6.4),
        ((8, 8), 8, 31.819805153394636, 5.656854249492381),
        ((8, 0), 8, 22.5, 8.0),
        ((16, 0), 12, 30.0, 6.0),
    ],
)
def test_published_steps(there: Point, counts: int, inches: float, n: float) -> None:
    ((_, step),) = steps_of(move([(0, 0)], [there], counts), limits=Limits(32, 0))
    assert step.inches == pytest.approx(inches, rel=1e-12)
    assert step.to_5 == pytest.approx(n, rel=1e-12)


def test_speed_needs_a_tempo() -> None:
    ((_, slow),) = steps_of(move([(0, 0)], [(8, 0)], 8), limits=Limits(32, 0))
    ((_, quick),) = steps_of(move([(0, 0)], [(8, 0)], 8, tempo=160), limits=Limits(32, 0))
    assert slow.per_second is None
    assert quick.per_second == 60


def test_no_step_at_all_is_no_size() -> None:
    assert to_5(0) == math.inf


@given(st.integers(1, 60000), st.integers(1, 64), st.integers(32, 2000))
def test_the_limit_itself_is_kept_and_one_unit_more_is_not(
    dx: int, counts: int, limit: int
) -> None:
    there = np.array([[dx, 0]], dtype=np.int64)
    made = Move(np.zeros((1, 2), dtype=np.int64), there, counts)
    assert bool(steps_of(made, limits=Limits(limit, 0))) == (dx > limit * counts)


@given(st.integers(1, 20000), st.integers(0, 20000), st.integers(1, 64), st.integers(100, 2000))
def test_the_proposed_counts_keep_the_limit_and_four_fewer_do_not(
    dx: int, dy: int, counts: int, limit: int
) -> None:
    step = Step(Fraction(dx**2 + dy**2, counts**2), Heading.FORWARD, limit, counts, None)
    length, proposed = dx**2 + dy**2, step.enough_counts
    assert proposed % 4 == 0
    assert length <= (limit * proposed) ** 2
    assert proposed == 4 or length > (limit * (proposed - 4)) ** 2


@pytest.mark.parametrize(
    ("going", "facing", "expected"),
    [
        ((0, 1), 0, Heading.FORWARD),
        ((0, -1), 0, Heading.BACKWARD),
        ((1, 0), 0, Heading.SIDEWAYS),
        ((0, -1), 180, Heading.FORWARD),
        ((-1, 0), 90, Heading.FORWARD),
        ((1, 0), 90, Heading.BACKWARD),
        ((1, 1), 0, Heading.FORWARD),
        ((1, -1), 0, Heading.BACKWARD),
        ((1, 0.99), 0, Heading.SIDEWAYS),
    ],
)
def test_heading_is_the_way_against_the_facing(
    going: Point, facing: float, expected: Heading
) -> None:
    assert heading(*going, facing) is expected


def test_the_most_specific_limit_counts() -> None:
    limits = Limits(
        1000,
        0,
        (
            Limit(900, from_tempo=160),
            Limit(800, heading="backward"),
            Limit(700, "tuba"),
            Limit(600, "tuba", "backward"),
            Limit(500, "tuba", from_tempo=180),
        ),
    )
    assert limits.step("flute", "forward", 120) == 1000
    assert limits.step("flute", "forward", 160) == 900
    assert limits.step("flute", "backward", 180) == 800
    assert limits.step("tuba", "forward", None) == 700
    assert limits.step("tuba", "backward", 200) == 600
    assert limits.step("tuba", "sideways", 180) == 500


def test_a_straight_way_counts_as_forward_unless_its_facing_is_told() -> None:
    limits = Limits(1000, 0, (Limit(700, heading="backward"),))
    back = {0: Way(PathKind.STRAIGHT, facings=(180.0,))}
    assert not steps_of(move([(0, 0)], [(0, 8)], 8), limits=limits)
    ((_, step),) = steps_of(move([(0, 0)], [(0, 8)], 8, ways=back), limits=limits)
    assert step.heading is Heading.BACKWARD


def test_a_described_way_is_judged_by_its_worst_count() -> None:
    points = at((0, 0), (0, 1), (0, 2), (2, 2), (3, 2))
    made = move([(0, 0)], [(3, 2)], 4, ways={0: Way(PathKind.DESCRIBED, points)})
    ((_, step),) = steps_of(made)
    assert (step.count, step.inches) == (3, 45)


def test_an_unknown_way_is_at_least_as_long_as_the_straight_one() -> None:
    made = move([(0, 0)], [(20, 0)], 8, ways={0: Way(PathKind.UNKNOWN)})
    assert [row for row, _ in steps_of(made)] == [0]
