"""Single values as people write them."""

from __future__ import annotations

import datetime
from decimal import Decimal

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from bandops.lib.imports import values as v

DAY = datetime.date(2026, 10, 7)


@pytest.mark.parametrize(
    "text",
    ["2026-10-07", "10/07/2026", "10/7/2026", "7.10.2026", "7 Oct 2026", "October 7, 2026"],
)
def test_a_date_in_every_usual_form(text: str) -> None:
    assert v.parse_date(text) == DAY


@pytest.mark.parametrize("text", ["2026-02-30", "10/17/26", "17/10/2026", "soon", "46302", "0"])
def test_what_is_no_date_is_said(text: str) -> None:
    with pytest.raises(ValueError, match="is not a date"):
        v.parse_date(text)


@pytest.mark.parametrize(
    ("text", "hour", "minute"),
    [
        ("19:30", 19, 30), ("7:30 pm", 19, 30), ("7pm", 19, 0), ("7 p.m.", 19, 0), ("12 am", 0, 0),
        ("12:05 PM", 12, 5), ("7.30", 7, 30), ("07:30:00", 7, 30), ("0:00", 0, 0),
        ("Noon", 12, 0), ("12 noon", 12, 0), ("midnight", 0, 0),
    ],
)  # fmt: skip
def test_a_time_in_every_usual_form(text: str, hour: int, minute: int) -> None:
    assert v.parse_time(text) == datetime.time(hour, minute)


@pytest.mark.parametrize("text", ["24:00", "13 pm", "0 am", "7:60", "noonish", "1930"])
def test_what_is_no_time_is_said(text: str) -> None:
    with pytest.raises(ValueError, match="is not a time"):
        v.parse_time(text)


@pytest.mark.parametrize("text", ["1.5", "two", "1e3", "9" * 400, "--1", "²"])
def test_what_is_no_whole_number_is_said(text: str) -> None:
    with pytest.raises(ValueError, match="is not a whole number"):
        v.parse_whole(text)


def test_a_whole_number_keeps_to_its_range() -> None:
    assert v.parse_whole("3.0") == 3
    assert v.parse_whole("", 7) == 7
    for text in ("-1", "32768", "999999999999999999"):
        with pytest.raises(ValueError, match="is not between 0 and 32767"):
            v.parse_whole(text)
    with pytest.raises(ValueError, match="missing"):
        v.parse_whole(" ")


def test_nothing_is_nothing_however_small_it_is_written() -> None:
    assert str(v.parse_decimal("0e-999999999")) == "0"


def test_a_decimal_takes_a_comma_and_a_percent_sign() -> None:
    assert v.parse_decimal("0,4") == v.parse_decimal("40 %") == Decimal("0.4")


@pytest.mark.parametrize(
    "text", ["", "nan", "inf", "1e999999999", "1.2.3", "1e9", "1e-999999999", "1" * 99]
)
def test_what_is_no_decimal_is_said_at_once(text: str) -> None:
    with pytest.raises(ValueError, match="is not a number"):
        v.parse_decimal(text)


@settings(deadline=None)
@given(st.text(max_size=30))
def test_any_text_is_a_value_or_an_error_with_words(text: str) -> None:
    parsers = (
        v.parse_date, v.parse_time, v.parse_moment, v.parse_decimal, v.parse_whole,
        lambda t: v.parse_yes_no(t, True),
    )  # fmt: skip
    for parse in parsers:
        try:
            parse(text)
        except ValueError as error:
            assert str(error).endswith(".")


@pytest.mark.parametrize("text", ["11-May", "May-12", "2026-05-11", "5/11/2026", "5-Nov-26"])
def test_a_spot_that_became_a_date_is_seen(text: str) -> None:
    assert v.looks_like_date(text)


@pytest.mark.parametrize("text", ["5-11", "12-1", "A-3", "1-100"])
def test_a_spot_is_no_date(text: str) -> None:
    assert not v.looks_like_date(text)


def test_a_code_such_as_1e5_is_seen() -> None:
    assert v.looks_scientific("1E5")
    assert v.looks_scientific("4.417E+03")
    assert not v.looks_scientific("1E5007X")
    assert not v.looks_scientific("004417")


def test_a_printed_minus_is_a_minus() -> None:
    assert v.parse_decimal("\N{MINUS SIGN}3,5") == Decimal("-3.5")


@pytest.mark.parametrize("text", ["0001-01-01", "10/17/1926", "31.12.2200", "31 Dec 9999"])
def test_days_and_moments_far_away_are_refused(text: str) -> None:
    with pytest.raises(ValueError, match="between 1970 and 2199"):
        v.parse_date(text)
    with pytest.raises(ValueError, match="between 1970 and 2199"):
        v.parse_moment("9999-12-31T23:59")
