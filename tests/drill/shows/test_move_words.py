"""Step sizes as people write them."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from drill.shows.core.move_findings import Missing, OffField, Repeated, WrongCounts
from drill.shows.core.told_drill import Drill, SetHead
from drill.shows.wording import decimal_steps, finding_words, read_step, write_step


@pytest.mark.parametrize(
    ("text", "units"),
    [
        ("6-to-5", 960),
        ("6 to 5", 960),
        ("8-TO-5", 720),
        ("7-to-5", 823),
        ("30 in", 960),
        ("22.5 inches", 720),
        ('36"', 1152),
        ("12.8-to-5", 450),
    ],
)
def test_steps_are_read(text: str, units: int) -> None:
    assert read_step(text) == units


@pytest.mark.parametrize("text", ["", "6", "0-to-5", "six to five", "0.1 in", "900 in", "-6-to-5"])
def test_what_is_no_step_is_refused(text: str) -> None:
    with pytest.raises(ValueError, match="step"):
        read_step(text)


@given(st.integers(32, 7200))
def test_what_is_written_is_read_back(units: int) -> None:
    assert read_step(write_step(units)) == units


def test_one_step_and_more() -> None:
    assert [decimal_steps(u) for u in (0, 360, 720, 1080)] == [
        "0 steps",
        "0.5 step",
        "1 step",
        "1.5 steps",
    ]


def test_faults_of_the_table_in_words() -> None:
    names = tuple(f"1-{n}" for n in range(1, 16))
    where, known = np.zeros((2, 15, 2), np.int64), np.zeros((2, 15), np.bool_)
    drill = Drill((SetHead("1", 0), SetHead("2", 8)), names, (), where, known)
    assert finding_words(Missing(1, tuple(range(15))), drill).endswith("1-12 and 3 more")
    assert finding_words(Missing(1, (0,)), drill) == "1 dot without a coordinate: 1-1"
    assert finding_words(OffField(1, (0,), 720, 4), drill) == (
        "1-1: 1 step outside the field at count 4"
    )
    assert "1 is already earlier in the order" in finding_words(Repeated(1, 0), drill)
    assert finding_words(WrongCounts(1, 8, 6, (0,)), drill) == (
        "the words take 6 counts, the set takes 8: 1-1"
    )
    assert finding_words(WrongCounts(1, 0), drill).startswith("it has no counts")
