"""Sentences about ways and what is new: as finely as the season writes its coordinates."""

from __future__ import annotations

import pytest

from drill.field.core.field import UNITS_PER_STEP as STEP
from drill.field.core.spoken import USUAL, Style
from drill.field.wording import load_words, steps_text
from drill.fundamentals.core.against import compare
from drill.fundamentals.wording import difference_text
from drill.publishing.wording import distance_text
from drill.shows.core.motion import Way
from drill.shows.wording import way_text
from tests.drill.fundamentals.core.built_in import BUILT_IN, move

FINE = Style(sixteenths=True)


@pytest.mark.parametrize(
    ("units", "usual", "fine"),
    [
        (0, "0 steps", "0 steps"),
        (STEP // 16, "0 steps", "1/16 step"),
        (STEP // 2, "0.5 step", "1/2 step"),
        (STEP, "1 step", "1 step"),
        (STEP + STEP // 4, "1.25 steps", "1 1/4 steps"),
        (3 * STEP + STEP // 16, "3 steps", "3 1/16 steps"),
        (2.5 * STEP, "2.5 steps", "2 1/2 steps"),
    ],
)
def test_a_distance_in_either_grain(units: float, usual: str, fine: str) -> None:
    assert (steps_text(units), steps_text(units, FINE)) == (usual, fine)


def test_ways_loads_and_moved_sets_follow_the_setting() -> None:
    way = Way(6.5 * STEP, 8)
    assert way_text(way, USUAL) == "6.5 steps in 8 counts, 9.8-to-5"
    assert way_text(way, FINE) == "6 1/2 steps in 8 counts, 9.8-to-5"
    assert load_words(1, 3, 9.25 * STEP, "17", FINE) == (
        "1 of 3 sets new, farthest 9 1/4 steps at set 17"
    )
    assert distance_text(0.75 * STEP, FINE) == "moves by 3/4 step"


def test_where_a_coordinate_is_follows_the_side_it_is_seen_from() -> None:
    forward = move("forward", 8)
    it = compare([forward], BUILT_IN, start=(0, 0), target=(45, 180), counts=8)
    assert "2 steps (45.0 in) to side 2" in difference_text(it)
    assert "to side 1" in difference_text(it, Style(from_field=True))
    off = compare([forward], BUILT_IN, start=(0, 0), target=(33.75, 180), counts=8)
    assert "1.5 steps (33.8 in)" in difference_text(off)
    assert "1 1/2 steps (33.8 in)" in difference_text(off, FINE)
