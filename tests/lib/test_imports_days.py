"""Days as people list them, with a day of the week before or behind."""

from __future__ import annotations

import datetime

import pytest

from bandops.lib.imports.days import parse_day

FIRST, LAST = datetime.date(2026, 8, 1), datetime.date(2027, 1, 31)


@pytest.mark.parametrize(
    "text", ["9/4 (Fri)", "9/4 Fri", "Fri 9/4", "(Fri) 9/4", "Fri., Sep 4th", "2026-09-04 Friday"],
)  # fmt: skip
def test_a_day_of_the_week_may_stand_beside_a_date(text: str) -> None:
    assert parse_day(text, FIRST, LAST) == datetime.date(2026, 9, 4)


@pytest.mark.parametrize("text", ["9/4 (Sat)", "Sat 9/4", "Friday", "(Fri)"])
def test_another_day_of_the_week_or_no_date_is_said(text: str) -> None:
    with pytest.raises(ValueError, match=r"check the day|is not a date"):
        parse_day(text, FIRST, LAST)
