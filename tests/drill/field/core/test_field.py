"""The field against the published rules."""

from __future__ import annotations

import csv
from fractions import Fraction
from pathlib import Path

import pytest

from drill.field.core import field
from drill.field.core.field import FIELD_TYPES, steps, units
from drill.field.core.spoken import (
    Style,
    across_words,
    depth_words,
    offset_of,
    parse_across,
    parse_depth,
    rounded_marks,
)

SOURCES = Path(__file__).resolve().parents[3] / "sources"
NCAA = "NCAA Football Rules, Rule 1-2-1 and Appendix D"
NFHS = "NFHS Football Rules, Rule 1-2-3 (rule number from memory)"
NFL = "NFL Rulebook, Rule 1"


@pytest.mark.source(NCAA)
def test_the_fields_lengths() -> None:
    assert 2 * field.GOAL_LINE == 300 * 12 * 32
    assert 2 * field.END_LINE == 360 * 12 * 32
    assert field.FIELD_WIDTH == 160 * 12 * 32
    assert steps(field.FIELD_WIDTH) == Fraction(256, 3)


@pytest.mark.parametrize(
    ("name", "hash_steps", "between"),
    [
        pytest.param("60 ft", Fraction(32), Fraction(64, 3), marks=pytest.mark.source(NCAA)),
        pytest.param(
            "53 ft 4 in", Fraction(256, 9), Fraction(256, 9), marks=pytest.mark.source(NFHS)
        ),
        pytest.param(
            "70 ft 9 in", Fraction(566, 15), Fraction(148, 15), marks=pytest.mark.source(NFL)
        ),
    ],
)
def test_hashes_stand_where_the_rules_put_them(
    name: str, hash_steps: Fraction, between: Fraction
) -> None:
    kind = FIELD_TYPES[name]
    assert steps(kind.front_hash) == hash_steps
    assert steps(kind.back_hash - kind.front_hash) == between


@pytest.mark.source("common practice, no source: an 8-to-5 step is 22.5 inches")
def test_a_step_is_exact_in_units() -> None:
    assert units(1) == 720 == Fraction(45, 2) * 32
    assert units("0.0625") == 45, "a sixteenth of a step is whole"


TABLE = "NCAA Rule 1-2-1, NFHS Rule 1-2-3, NFL Rule 1, as gathered in field_dimensions.csv"
NUMBERS = "NCAA Rule 1-2-1-i: number tops 9 yards from the sidelines, 6 ft by 4 ft at most"
PRO_NUMBERS = "NFL Rule 1: number bottoms 12 yards in, 2 yards long"
COLLEGE, SCHOOL, PRO = FIELD_TYPES["60 ft"], FIELD_TYPES["53 ft 4 in"], FIELD_TYPES["70 ft 9 in"]


def dimensions() -> dict[str, dict[str, str]]:
    with (SOURCES / "field_dimensions.csv").open(encoding="utf-8", newline="") as file:
        return {row["quantity"]: row for row in csv.DictReader(file)}


ROWS = dimensions()


def inches(quantity: str) -> Fraction:
    return Fraction(ROWS[quantity]["inches_exact"])


@pytest.mark.source(TABLE)
@pytest.mark.parametrize("quantity", ROWS)
def test_every_length_of_the_table_is_read_alike_in_every_unit(quantity: str) -> None:
    row = ROWS[quantity]
    said = [
        f"{row['inches_exact']} inches",
        f"{row['feet_exact']} feet",
        f"{row['steps_8to5_exact']} steps",
        f"{row['mm']} mm",
    ]
    whole = 32 * inches(quantity)
    assert whole.denominator == 1
    read = [parse_depth(f"{length} behind the front sideline", COLLEGE) for length in said]
    assert read == [whole] * 4
    assert steps(int(whole)) == Fraction(row["steps_8to5_exact"])
    assert float(row["steps_8to5"]) == pytest.approx(float(steps(int(whole))), abs=5e-7)
    assert Fraction(row["steps_6to5_exact"]) * 30 == inches(quantity)
    assert Fraction(row["steps_16to5_exact"]) * Fraction(45, 4) == inches(quantity)
    assert float(row["inches"]) == inches(quantity)


@pytest.mark.source(TABLE)
@pytest.mark.parametrize(
    ("quantity", "distance"),
    [
        ("field_width", field.FIELD_WIDTH),
        ("goal_to_goal", 2 * field.GOAL_LINE),
        ("end_line_to_end_line", 2 * field.END_LINE),
        ("end_zone_depth", field.END_LINE - field.GOAL_LINE),
        ("yard", field.UNITS_PER_YARD),
        ("ncaa_hash_from_sideline", COLLEGE.front_hash),
        ("ncaa_hash_from_sideline", field.FIELD_WIDTH - COLLEGE.back_hash),
        ("ncaa_between_hashes", COLLEGE.back_hash - COLLEGE.front_hash),
        ("nfhs_hash_from_sideline", SCHOOL.front_hash),
        ("nfhs_hash_from_sideline", field.FIELD_WIDTH - SCHOOL.back_hash),
        ("nfhs_between_hashes", SCHOOL.back_hash - SCHOOL.front_hash),
        ("nfl_hash_from_sideline", PRO.front_hash),
        ("nfl_hash_from_sideline", field.FIELD_WIDTH - PRO.back_hash),
        ("nfl_between_hashes", PRO.back_hash - PRO.front_hash),
        ("half_width_centre", parse_depth("between the hashes", COLLEGE)),
        ("five_yards", parse_across("side 2, on the 45")),
        ("ten_yards", parse_across("side 2, on the 40")),
    ],
)
def test_the_field_is_the_table_s(quantity: str, distance: int) -> None:
    assert distance == 32 * inches(quantity)


@pytest.mark.source("common practice, no source: 84 steps, hashes at 28 and at 32")
def test_the_rounded_display_is_the_table_s() -> None:
    depth = rounded_marks(COLLEGE)
    assert units(depth[3]) == 32 * inches("convention_84_steps")
    assert units(depth[1]) == 32 * inches("convention_college_hash_32_steps")
    assert units(rounded_marks(SCHOOL)[1]) == 32 * inches("convention_hs_hash_28_steps")


@pytest.mark.source(NUMBERS)
def test_where_the_numbers_stand_on_a_college_field() -> None:
    top, bottom = (
        inches("ncaa_number_top_from_sideline"),
        inches("ncaa_number_bottom_from_sideline"),
    )
    assert (top, top - bottom) == (Fraction(9 * 36), inches("ncaa_number_height_max"))
    assert (inches("ncaa_number_height_max"), inches("ncaa_number_width_max")) == (
        Fraction(72),
        Fraction(48),
    )
    assert steps(32 * int(top)) == Fraction("14.4")
    exact = Style(sixteenths=True)
    assert depth_words(32 * int(top), COLLEGE, exact) == "14 3/8 behind the front sideline"
    assert depth_words(32 * int(bottom), COLLEGE, exact) == "11 3/16 behind the front sideline"


@pytest.mark.source(PRO_NUMBERS)
def test_where_the_numbers_stand_on_a_professional_field() -> None:
    top = inches("nfl_number_top_from_sideline_(72in_tall)")
    bottom = inches("nfl_number_bottom_from_sideline")
    assert (bottom, top - bottom) == (Fraction(12 * 36), Fraction(2 * 36))
    assert steps(32 * int(bottom)) == Fraction("19.2")
    assert depth_words(32 * int(bottom), PRO) == "18.5 in front of the front hash"


@pytest.mark.source("derived: 52.5 inches are 2 1/3 steps, and no line of the field is there")
def test_two_and_a_third_steps_are_no_line() -> None:
    at = int(32 * inches("2_1/3_steps_8to5"))
    assert steps(at) == Fraction(7, 3)
    for kind in FIELD_TYPES.values():
        assert offset_of(at, kind).steps == Fraction(7, 3), kind
    assert across_words(at, Style(sixteenths=True)) == "side 2, 2 5/16 outside the 50"
