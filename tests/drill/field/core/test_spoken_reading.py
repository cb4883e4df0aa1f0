"""The spoken form of a coordinate: read in many ways, or refused with the reason."""

from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from drill.field.core import spoken
from drill.field.core.field import FIELD_WIDTH, units
from drill.field.core.spoken import feet_words, parse_across, parse_coordinate, parse_depth
from drill.field.core.spoken_reading import read_length
from tests.drill.field.core.spoken_coordinates import COLLEGE, NO_SOURCE


@given(text=st.text(max_size=60) | st.text("0123456789./ sidefrontbackhashout,'\"½", max_size=60))
def test_any_text_is_read_or_refused_in_words(text: str) -> None:
    try:
        x, y = parse_coordinate(text, COLLEGE)
    except ValueError as error:
        assert str(error).endswith("."), error
    else:
        assert max(abs(x), abs(y)) <= spoken.FARTHEST


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
def test_a_coordinate_is_read_in_any_order(words: str) -> None:
    assert parse_coordinate(words, COLLEGE) == (-units("19.5"), units(38))


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
        ("on the 50, 999 behind the front hash", "is way off the field"),
        ("", "names no hash or sideline"),
    ],
)
def test_what_cannot_be_read_is_refused_with_the_reason(words: str, message: str) -> None:
    with pytest.raises(ValueError, match=message):
        parse_coordinate(words, COLLEGE)


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
