"""The field against the published rules, and the words for a place on it."""

from __future__ import annotations

import csv
from fractions import Fraction
from pathlib import Path

import pytest

from drill.core import field
from drill.core.field import FIELD_TYPES, across_text, depth_text, steps, units

SOURCES = Path(__file__).resolve().parents[2] / "sources"
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


@pytest.mark.parametrize(
    ("x", "text"),
    [
        (0, "on the 50"),
        (units(8), "side 2, on the 45"),
        (-units(8), "side 1, on the 45"),
        (-units("19.5"), "side 1, 3.5 outside the 40"),
        (units(14), "side 2, 2 inside the 40"),
        (units(80), "side 2, on the goal line"),
        (units("0.05"), "on the 50"),
    ],
)
def test_across_in_words(x: int, text: str) -> None:
    assert across_text(x) == text


@pytest.mark.parametrize(
    ("y", "kind", "text"),
    [
        (0, "60 ft", "on the front sideline"),
        (units(38), "60 ft", "6 behind the front hash"),
        (units(28), "60 ft", "4 in front of the front hash"),
        (units("40.0"), "60 ft", "8 behind the front hash"),
        (units("40.0"), "70 ft 9 in", "2.25 behind the front hash"),
        (units("40.0"), "53 ft 4 in", "11.5 behind the front hash"),
    ],
)
def test_depth_in_words(y: int, kind: str, text: str) -> None:
    assert depth_text(y, FIELD_TYPES[kind]) == text


TABLE = "NCAA Rule 1-2-1, NFHS Rule 1-2-3, NFL Rule 1, as gathered in field_dimensions.csv"


@pytest.mark.source(TABLE)
def test_the_table_of_dimensions_agrees() -> None:
    with (SOURCES / "field_dimensions.csv").open(encoding="utf-8", newline="") as file:
        rows = {row["quantity"]: row for row in csv.DictReader(file)}
    for row in rows.values():
        inches, in_steps = Fraction(row["inches_exact"]), Fraction(row["steps_8to5_exact"])
        assert steps(1) * 32 * inches == in_steps, row["quantity"]
    inches_of = {name: kind.hash // field.UNITS_PER_INCH for name, kind in FIELD_TYPES.items()}
    assert inches_of == {
        "60 ft": int(rows["ncaa_hash_from_sideline"]["inches_exact"]),
        "53 ft 4 in": int(rows["nfhs_hash_from_sideline"]["inches_exact"]),
        "70 ft 9 in": int(rows["nfl_hash_from_sideline"]["inches_exact"]),
    }
    assert 32 * int(rows["field_width"]["inches_exact"]) == field.FIELD_WIDTH
