"""The spoken form of a coordinate: written, and back without a loss."""

from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from drill.field.core import spoken
from drill.field.core.field import END_LINE, FIELD_TYPES, FIELD_WIDTH, GOAL_LINE, FieldType, units
from drill.field.core.spoken import (
    Style,
    across_words,
    coordinate_words,
    depth_words,
    offset_of,
    parse_across,
    parse_coordinate,
    parse_depth,
    written_error,
)
from tests.drill.field.core.spoken_coordinates import COLLEGE, NO_SOURCE

SCHOOL = FIELD_TYPES["53 ft 4 in"]
xs = st.integers(-END_LINE, END_LINE)
ys = st.integers(0, FIELD_WIDTH)
views = st.booleans()
hashes = st.tuples(st.integers(1, FIELD_WIDTH - 1), st.integers(1, FIELD_WIDTH - 1))
kinds = st.sampled_from(list(FIELD_TYPES.values())) | hashes.filter(lambda h: h[0] != h[1]).map(
    lambda h: FieldType("own", min(h), max(h))
)


@given(x=xs, y=ys, kind=kinds, from_field=views)
def test_quarters_lose_an_eighth_of_a_step_at_most(
    x: int, y: int, kind: FieldType, from_field: bool
) -> None:
    style = Style(from_field=from_field)
    read = parse_coordinate(coordinate_words(x, y, kind, style), kind, style)
    assert abs(read[0] - x) <= 90
    assert abs(read[1] - y) <= 90


@given(x=xs, y=ys, kind=kinds, from_field=views)
def test_sixteenths_lose_half_of_one_at_most(
    x: int, y: int, kind: FieldType, from_field: bool
) -> None:
    dx, dy = written_error(x, y, kind, Style(from_field=from_field, sixteenths=True))
    assert abs(dx) <= Fraction(45, 2)
    assert abs(dy) <= Fraction(45, 2)


@given(
    x=st.integers(-END_LINE // 45, END_LINE // 45).map(lambda n: n * 45),
    mark=st.integers(0, 3),
    grains=st.integers(-200, 200),
    kind=kinds,
    from_field=views,
)
def test_nothing_is_lost_on_the_grid_of_sixteenths(
    x: int, mark: int, grains: int, kind: FieldType, from_field: bool
) -> None:
    """Exact wherever the coordinate is whole sixteenths from the line and from its own nearest
    mark."""
    style = Style(from_field=from_field, sixteenths=True)
    y = (0, kind.front_hash, kind.back_hash, FIELD_WIDTH)[mark] + grains * 45
    dx, dy = written_error(x, y, kind, style)
    assert dx == 0
    if offset_of(y, kind, style).steps % Fraction(1, 16) == 0:
        assert dy == 0


@given(y=ys, kind=kinds, sixteenths=st.booleans())
def test_the_rounded_display_loses_half_a_grain_of_its_own_steps(
    y: int, kind: FieldType, sixteenths: bool
) -> None:
    style = Style(rounded=True, sixteenths=sixteenths)
    shown = [step * 720 for step in spoken.rounded_marks(kind)]
    real = [0, kind.front_hash, kind.back_hash, FIELD_WIDTH]
    zones = [Fraction(real[i + 1] - real[i], shown[i + 1] - shown[i]) for i in range(3)]
    stretch = max([Fraction(1), *zones])
    lost = abs(written_error(0, y, kind, style)[1])
    assert lost <= stretch * style.grain / 2 + Fraction(1, 2)


@given(x=xs, from_field=views)
def test_what_was_read_is_written_the_same(x: int, from_field: bool) -> None:
    style = Style(from_field=from_field)
    words = across_words(x, style)
    assert across_words(parse_across(words, style), style) == words


@pytest.mark.source(NO_SOURCE)
@pytest.mark.parametrize(
    ("x", "words"),
    [
        (0, "on the 50"),
        (units("0.05"), "on the 50"),
        (units(8), "side 2, on the 45"),
        (-units(8), "side 1, on the 45"),
        (-units("19.5"), "side 1, 3.5 outside the 40"),
        (units(14), "side 2, 2 inside the 40"),
        (units(4), "side 2, 4 outside the 50"),
        (-units(12), "side 1, 4 outside the 45"),
        (GOAL_LINE, "side 2, on the goal line"),
        (-END_LINE, "side 1, 16 outside the goal line"),
        (units("3.25"), "side 2, 3.25 outside the 50"),
    ],
)
def test_across_in_words(x: int, words: str) -> None:
    assert across_words(x) == words


@pytest.mark.source(NO_SOURCE)
@pytest.mark.parametrize(
    ("y", "kind", "words"),
    [
        (0, "60 ft", "on the front sideline"),
        (units(38), "60 ft", "6 behind the front hash"),
        (units(28), "60 ft", "4 in front of the front hash"),
        (FIELD_WIDTH - units(10), "60 ft", "10 in front of the back sideline"),
        (-units(2), "60 ft", "2 in front of the front sideline"),
        (units(40), "60 ft", "8 behind the front hash"),
        (units(40), "70 ft 9 in", "2.25 behind the front hash"),
        (units(40), "53 ft 4 in", "11.5 behind the front hash"),
    ],
)
def test_depth_in_words(y: int, kind: str, words: str) -> None:
    assert depth_words(y, FIELD_TYPES[kind]) == words


def test_exact_words_are_sixteenths() -> None:
    style = Style(sixteenths=True)
    at = (units(20) - 45, units(38) + 45)
    assert coordinate_words(*at, COLLEGE, style) == (
        "side 2, 3 15/16 outside the 40, 6 1/16 behind the front hash"
    )
    assert across_words(units("0.5"), style) == "side 2, 1/2 outside the 50"


def test_sides_are_those_of_whoever_looks() -> None:
    seen = Style(from_field=True)
    assert across_words(units(8), seen) == "side 1, on the 45"
    assert parse_across("side 1, on the 45", seen) == units(8)
    assert parse_across("3 left of the 50", seen) == units(3)
    assert parse_across("3 left of the 50") == -units(3)
    assert depth_words(units(38), COLLEGE, seen) == depth_words(units(38), COLLEGE)


@pytest.mark.source("common practice, no source: 84 steps deep, hashes at 28 or at 32")
def test_the_rounded_display() -> None:
    assert spoken.rounded_marks(SCHOOL) == (0, 28, 56, 84)
    assert spoken.rounded_marks(COLLEGE) == (0, 32, 52, 84)
    style = Style(rounded=True)
    assert depth_words(FIELD_WIDTH // 2, COLLEGE, style) == "10 behind the front hash"
    assert parse_depth("28 behind the front sideline", SCHOOL, style) == SCHOOL.front_hash
    assert parse_depth("28 behind the front sideline", SCHOOL) == units(28)
    real = parse_depth("1 m behind the front hash", SCHOOL, style)
    assert real == parse_depth("1 m behind the front hash", SCHOOL), "a metre is a metre"


@pytest.mark.source("common practice, no source; the shortfalls are computed from the rules")
def test_what_the_rounded_display_leaves_out() -> None:
    """84 steps are 30 inches short of the field, 28 of a hash at 53 ft 4 in by 10, 20 between
    hashes at 60 ft by 30; a hash at 60 ft is 32 steps exactly."""
    assert FIELD_WIDTH - units(spoken.ROUNDED_DEPTH) == 30 * 32
    assert SCHOOL.front_hash - units(spoken.rounded_marks(SCHOOL)[1]) == 10 * 32
    _, front, back, _ = spoken.rounded_marks(COLLEGE)
    assert COLLEGE.front_hash == units(front)
    assert COLLEGE.back_hash - COLLEGE.front_hash - units(back - front) == 30 * 32


def test_the_unrounded_distance_is_known() -> None:
    offset = offset_of(units(40), FIELD_TYPES["70 ft 9 in"])
    assert (offset.mark, round(float(offset.steps), 2)) == ("front hash", 2.27)


@pytest.mark.parametrize("style", [spoken.Style(), spoken.Style(sixteenths=True)])
def test_short_words_are_read_as_the_same_coordinate(style: spoken.Style) -> None:
    for x in range(-60 * 1152, 60 * 1152, 1007):
        words = spoken.across_words(x, style)
        short = spoken.short_words(words)
        assert len(short) <= len("S1: 14 15/16 outside goal line"), short
        assert spoken.parse_across(short, style) == spoken.parse_across(words, style)
    for y in range(0, FIELD_WIDTH, 611):
        words = spoken.depth_words(y, COLLEGE, style)
        short = spoken.short_words(words)
        assert "the" not in short
        assert spoken.parse_depth(short, COLLEGE, style) == spoken.parse_depth(
            words, COLLEGE, style
        )
