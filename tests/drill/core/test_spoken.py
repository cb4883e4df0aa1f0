"""The spoken form of a place: written, read in many ways, and back without a loss."""

from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from drill.core import spoken
from drill.core.field import END_LINE, FIELD_TYPES, FIELD_WIDTH, GOAL_LINE, FieldType, units
from drill.core.spoken import (
    Style,
    across_words,
    depth_words,
    feet_words,
    offset_of,
    parse_across,
    parse_depth,
    parse_place,
    place_words,
    written_error,
)
from drill.core.spoken_reading import read_length

COLLEGE = FIELD_TYPES["60 ft"]
SCHOOL = FIELD_TYPES["53 ft 4 in"]
NO_SOURCE = "common practice, no source"

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
    read = parse_place(place_words(x, y, kind, style), kind, style)
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
    """Exact wherever the place is whole sixteenths from the line and from its own nearest mark."""
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


@given(text=st.text(max_size=60) | st.text("0123456789./ sidefrontbackhashout,'\"½", max_size=60))
def test_any_text_is_read_or_refused_in_words(text: str) -> None:
    try:
        x, y = parse_place(text, COLLEGE)
    except ValueError as error:
        assert str(error).endswith("."), error
    else:
        assert max(abs(x), abs(y)) <= spoken.FARTHEST


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
    assert place_words(*at, COLLEGE, style) == (
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


@pytest.mark.source(NO_SOURCE)
@pytest.mark.parametrize(
    ("words", "x"),
    [
        ("side 1, 3.5 outside the 40", "-19.5"),
        ("3.5 outside the 40, side 1", "-19.5"),
        ("S1: 3 1/2 out 40", "-19.5"),
        ("Side 1: 3½ steps outside the 40-yard line.", "-19.5"),
        ("3-1/2 os side 1 40 yd line", "-19.5"),
        ("left 3.5 o 40", "-19.5"),
        ("side one .5 in 45", "-7.5"),
        ("R 2 i 40", "14"),
        ("side 2 on the 35", "24"),
        ("on the 35 side B", "24"),
        ("S2 35", "24"),
        ("on the 50", "0"),
        ("50 yard line", "0"),
        ("4 left of the 50", "-4"),
        ("4 r of 50", "4"),
        ("side 1, 4 right of the 40", "-12"),
        ("side 1, between the 35 and the 40", "-20"),
        ("halfway between 45 and 50, side 2", "4"),
        ("side 2, 4 outside goal line", "84"),
        ("side 1, 22.5 inches outside the 40", "-17"),
        ('S1 45" out 40', "-18"),
        ("S1 45 in out 40", "-18"),
        ("S1 3 in 40", "-13"),
        ("side 2, 5 yards outside the 50", "8"),
        ("side 2, 1.143 m outside the 50", "2"),
        ("side 2, 114.3 cm outside the 50", "2"),
        ("side 2, 1143mm outside the 50", "2"),
        ("side 2, 3 ft 9 in outside the 50", "2"),
        ("side 2, 3'9\" outside the 50", "2"),
    ],
)
def test_across_is_read_as_people_write_it(words: str, x: str) -> None:
    assert parse_across(words) == units(x)


@pytest.mark.source(NO_SOURCE)
@pytest.mark.parametrize(
    ("words", "y"),
    [
        ("6 behind the front hash", units(38)),
        ("6 steps behind front hash", units(38)),
        ("6 bfh", units(38)),
        ("6 b fh", units(38)),
        ("6 in back of the front hash mark", units(38)),
        ("4 in front of the front hash", units(28)),
        ("4 ffh", units(28)),
        ("4 front of fh", units(28)),
        ("2 1/4 bbh", FIELD_WIDTH - units("29.75")),
        ("on the front sideline", 0),
        ("front sideline", 0),
        ("on the back side line", FIELD_WIDTH),
        ("10 from the back sideline", FIELD_WIDTH - units(10)),
        ("10 off the front sideline", units(10)),
        ("12 bfsl", units(12)),
        ("4 behind the home hash", units(36)),
        ("4 behind the home sideline", units(4)),
        ("3 in front of the visitor hash", FIELD_WIDTH - units(35)),
        ("between the hashes", FIELD_WIDTH // 2),
        ("between the front hash and the front sideline", units(16)),
        ("2 m behind the front sideline", round(Fraction(2_000, 254) * 10 * 32)),
        ("45 in behind the front hash", units(34)),
        ("45 in in front of the front hash", units(30)),
        ("2 ft behind the back sideline", FIELD_WIDTH + 24 * 32),
    ],
)
def test_depth_is_read_as_people_write_it(words: str, y: int) -> None:
    assert parse_depth(words, COLLEGE) == y


@pytest.mark.source(NO_SOURCE)
@pytest.mark.parametrize(
    "words",
    [
        "side 1, 3.5 outside the 40, 6 behind the front hash",
        "6 behind the front hash, side 1, 3.5 outside the 40",
        "S1: 3 1/2 out 40; 6 bfh",
        "6 bfh S1 3.5 out 40",
        "3.5 out 40 6 bfh side 1",
        "left 3.5 outside the 40 | 6 steps behind the front hash",
    ],
)
def test_a_place_is_read_in_any_order(words: str) -> None:
    assert parse_place(words, COLLEGE) == (-units("19.5"), units(38))


@pytest.mark.parametrize(
    ("words", "message"),
    [
        ("on the 35, on the front hash", "Say which side: side 1 or side 2."),
        ("3 out 50, fh", "Say which side: side 1 or side 2."),
        ("S1 on the 40, 6 behind the hash", "Say which hash: the front hash or the back hash."),
        ("S1 on the 40, on the sideline", "Say which sideline: the front"),
        ("S1 3 out 42, fh", "There is no 42-yard line"),
        ("S1 3/0 out 40, fh", "“3/0” is not a number."),
        ("S1 S2 40, fh", "names the side twice"),
        ("S1 40, fh, 6 bbh", "says the depth twice"),
        ("6 behind the front hash", "names no yard line"),
        ("side 1, 3.5 outside the 40", "names no hash or sideline"),
        ("S1 40, 6 cubits behind the front hash", "is not understood across the field"),
        ("S1 2 inside the 50, fh", "Nothing is inside the 50"),
        ("on the 50, 6 from the front hash", "Say whether it is behind or in front of"),
        ("on the 50, 999 behind the front hash", "is far off the field"),
        ("", "names no hash or sideline"),
    ],
)
def test_what_cannot_be_read_is_refused_with_the_reason(words: str, message: str) -> None:
    with pytest.raises(ValueError, match=message):
        parse_place(words, COLLEGE)


@given(units=st.integers(0, FIELD_WIDTH))
def test_lengths_in_feet_are_read_again(units: int) -> None:
    assert read_length(feet_words(units)) == units


@pytest.mark.parametrize(
    ("words", "length"),
    [
        ("53 ft 4 in", 640 * 32),
        ("53' 4\"", 640 * 32),
        ("28 steps", units(28)),
        ("18.288 m", 720 * 32),
        ("849in", 849 * 32),
    ],
)
def test_lengths_are_read_with_their_unit(words: str, length: int) -> None:
    assert read_length(words) == length


@pytest.mark.parametrize("words", ["60", "", "sixty feet", "4 in 5 ft", "1/0 ft"])
def test_lengths_without_a_unit_are_refused(words: str) -> None:
    with pytest.raises(ValueError, match="is not a"):
        read_length(words)


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
