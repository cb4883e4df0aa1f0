"""Sizes: exact, each in its own unit, and one size at each boundary."""

from __future__ import annotations

import csv
from fractions import Fraction
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from roster.equipment.core.sizes import (
    TICKS,
    BadSize,
    Band,
    Size,
    Unit,
    around,
    band_of,
    converted,
    faults_of,
    parse_difference,
    parse_size,
    parse_unit,
    written,
)

SOURCES = Path(__file__).parents[3] / "sources"
EN = (
    "EN 13402-3:2004, letter codes for men's chest and women's bust, in cm "
    "(S to XXL for men from a public copy, the rest from memory)"
)
ASTM = "ASTM D5585-11e1, Table 1, women, inches (the page of the standard)"


def en_bands(table: str) -> list[Band]:
    with (SOURCES / "size_en13402_3.csv").open(encoding="utf-8", newline="") as lines:
        rows = [row for row in csv.DictReader(lines) if row["table"] == table]
    return [Band(r["code"], int(r["low_cm"]) * 10, int(r["high_cm"]) * 10) for r in rows]


TABLES = ("men letter chest", "women letter bust")


@pytest.mark.source(EN)
@pytest.mark.parametrize("table", TABLES)
def test_the_bands_of_the_standard_have_one_size_for_every_body(table: str) -> None:
    bands = en_bands(table)
    assert len(bands) >= 8 and faults_of(bands) == []
    for ticks in range(bands[0].low, bands[-1].high):
        assert sum(b.low <= ticks < b.high for b in bands) == 1
        assert band_of(bands, ticks) is not None
    assert band_of(bands, bands[0].low - 1) is None, "between tables: fitted in person"
    assert band_of(bands, bands[-1].high) is None


@pytest.mark.source(EN)
def test_a_body_on_the_boundary_is_of_the_larger_size() -> None:
    bands = en_bands("men letter chest")
    for text, size in (("102.0", "L"), ("101.9", "M"), ("94", "M"), ("118 cm", "XXL")):
        found = band_of(bands, parse_size(text, Unit.CM).ticks)
        assert found is not None and found.name == size


@pytest.mark.source("EN 13402-3, chest and waist designations in cm (from memory)")
@pytest.mark.parametrize("table", ["men chest designation", "men waist designation"])
def test_designations_reach_from_midpoint_to_midpoint(table: str) -> None:
    named = en_bands(table)
    made = around([int(b.name) * 10 for b in named])
    assert [(b.low, b.high) for b in made] == [(b.low, b.high) for b in named]
    assert faults_of(made) == []


@pytest.mark.source(ASTM)
@pytest.mark.parametrize("figure", ["bust", "waist_curvy", "waist_straight"])
def test_sizes_of_the_table_are_read_exactly_and_written_again(figure: str) -> None:
    path = SOURCES / "size_astm_d5585_11e1_women.csv"
    with path.open(encoding="utf-8", newline="") as lines:
        rows = list(csv.DictReader(lines))
    column = next(c for c in rows[0] if c.startswith(figure))
    read = [parse_size(row[column], Unit.INCH) for row in rows]
    assert [s.ticks for s in read] == sorted({s.ticks for s in read}), "each size is larger"
    for row, size in zip(rows, read, strict=True):
        assert Fraction(size.ticks, 16) == Fraction(row[column])
        assert parse_size(str(size), Unit.INCH) == size


@pytest.mark.source("ASTM D5585-11e1: bust 31 1/8 is size 00, 40 3/8 is size 14")
def test_inches_are_written_as_the_table_writes_them() -> None:
    assert parse_size("31 1/8", Unit.INCH) == Size(498, Unit.INCH)
    assert parse_size("40⅜", Unit.INCH) == parse_size("40.375", Unit.INCH)
    assert str(parse_size("42-1/2 in", Unit.INCH)) == "42 1/2 in"


@pytest.mark.source("ASTM D6240-98(2006): SI and inch values are independent, not to be mixed")
@pytest.mark.parametrize(
    ("text", "unit"),
    [("102 cm", Unit.INCH), ("40 in", Unit.CM), ('40"', Unit.CM), ("9 in", Unit.NUMBER)],
)
def test_another_unit_is_refused(text: str, unit: Unit) -> None:
    with pytest.raises(BadSize, match="asked"):
        parse_size(text, unit)


@pytest.mark.source("The international inch is 2.54 cm (1959)")
def test_converting_is_asked_for_and_exact_to_a_tick() -> None:
    assert converted(Size(40 * 16, Unit.INCH), Unit.CM) == Size(1016, Unit.CM)
    assert converted(Size(1016, Unit.CM), Unit.INCH) == Size(640, Unit.INCH)
    assert converted(Size(1000, Unit.CM), Unit.CM) == Size(1000, Unit.CM)
    with pytest.raises(BadSize):
        converted(Size(18, Unit.NUMBER), Unit.CM)


@pytest.mark.parametrize(
    "text",
    ["", "abc", "1001/2", "5'9", "40.3", "0", "-3", "12 1/0", "3 1/3", "500", "4 0", "1.5 1/2"],
)
def test_what_is_no_size_is_refused_in_words(text: str) -> None:
    with pytest.raises(BadSize):
        parse_size(text, Unit.INCH)


def test_units_by_their_names() -> None:
    assert parse_unit(" Inches ") is Unit.INCH and parse_unit("CM") is Unit.CM
    assert parse_unit("") is None
    with pytest.raises(BadSize):
        parse_unit("kg")


def test_differences_may_be_nothing_or_less() -> None:
    assert parse_difference("-1 1/2", Unit.INCH) == -24
    assert parse_difference("0", Unit.CM) == 0
    with pytest.raises(BadSize):
        parse_difference("0.3", Unit.INCH)


@given(st.integers(1, 6400), st.sampled_from(Unit))
def test_what_is_written_is_read_again(ticks: int, unit: Unit) -> None:
    if ticks > 400 * TICKS[unit]:
        return
    assert parse_size(written(ticks, unit), unit) == Size(ticks, unit)


def test_bands_that_claim_one_body_or_none_are_named() -> None:
    assert faults_of([Band("S", 10, 20), Band("M", 19, 30)]) == ["S and M overlap."]
    assert faults_of([Band("S", 20, 20)]) == ["S ends before it begins."]
    assert faults_of([Band("S", 10, 20), Band("L", 30, 40)]) == [], "a gap is fitted in person"
