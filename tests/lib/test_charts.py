"""Scales, bars end to end, and rows of a matrix."""

from __future__ import annotations

from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bandops.lib.charts import Scale, axis_of, scale_for, stacked
from bandops.lib.web.matrix import MOST_CELLS, Cell, rows_of

VALUES = st.lists(st.floats(0, 1e6, allow_nan=False), max_size=20)


def test_a_value_stands_where_its_share_of_the_scale_is() -> None:
    scale = Scale(10, 30)
    assert [scale.at(v) for v in (10, 15, 30)] == [0, 25, 100]
    assert (scale.at(-5), scale.at(99)) == (0, 100), "what lies outside stands at the edge"


@pytest.mark.parametrize(
    ("low", "high", "ticks"),
    [
        (0, 100, (0, 20, 40, 60, 80, 100)),
        (0, 1, (0, 0.2, 0.4, 0.6, 0.8, 1)),
        (0, 12, (0, 2.5, 5, 7.5, 10)),
        (-1, 1, (-1, -0.5, 0, 0.5, 1)),
    ],
)
def test_ticks_are_round_values(low: float, high: float, ticks: tuple[float, ...]) -> None:
    assert Scale(low, high).ticks() == ticks


@given(VALUES)
def test_a_scale_holds_all_its_values_and_ends_at_a_tick(values: list[float]) -> None:
    scale = scale_for(values)
    assert scale.high >= max([*values, 1.0])
    assert scale.ticks()[-1] == pytest.approx(scale.high)
    assert len(scale.ticks()) <= 6


@given(st.lists(st.integers(0, 50), min_size=1, max_size=5))
def test_stacked_bars_touch_and_add_up(counts: list[int]) -> None:
    scale = Scale(0, max(1, sum(counts)))
    bars = stacked(scale, counts, ["k"] * len(counts))
    assert len(bars) == sum(bool(n) for n in counts)
    for one, after in pairwise(bars):
        assert one.start + one.width == pytest.approx(after.start, abs=0.02)
    if bars:
        assert bars[-1].start + bars[-1].width == pytest.approx(100, abs=0.02)


def test_the_unit_stands_once() -> None:
    texts = [tick.text for tick in axis_of(Scale(0, 50), "%").ticks]
    assert texts == ["0", "10", "20", "30", "40", "50%"]


def test_a_long_rank_goes_on_below_with_its_name_once() -> None:
    cells = [Cell(f"A{n}", "Ward", "/") for n in range(MOST_CELLS + 3)]
    first, second = rows_of("A", cells, "Ana leads")
    assert (first.title, first.note, len(first.cells)) == ("A", "Ana leads", MOST_CELLS)
    assert (second.title, second.note, len(second.cells)) == ("", "", 3)
