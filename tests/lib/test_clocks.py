"""Times that a day has twice or not at all, and stretches past midnight."""

from __future__ import annotations

import datetime
from zoneinfo import ZoneInfo

import pytest

from bandops.lib.clocks import is_missing, length_fault, question, reading_words, readings

NEW_YORK = ZoneInfo("America/New_York")
SOURCE = "IANA time zone database, by zoneinfo: New York, 8 March and 1 November 2026"


def hours(local: datetime.datetime, zone: ZoneInfo = NEW_YORK) -> list[str]:
    return [reading_words(moment) for moment in readings(local, zone)]


@pytest.mark.source(SOURCE)
def test_a_time_in_the_hour_that_comes_twice_has_two_readings() -> None:
    local = datetime.datetime(2026, 11, 1, 1, 30)
    assert hours(local) == ["1:30 AM EDT", "1:30 AM EST"]
    first, second = readings(local, NEW_YORK)
    assert second.astimezone(datetime.UTC) - first.astimezone(datetime.UTC) == datetime.timedelta(
        hours=1
    )
    assert not is_missing(local, NEW_YORK)
    assert question(local, NEW_YORK) == (
        "1:30 AM comes twice on Sun, Nov 1, 2026: the clocks go back."
        " Choose 1:30 AM EDT or 1:30 AM EST."
    )


@pytest.mark.source(f"{SOURCE}; RFC 5545, 3.3.5: read by the offset before the gap")
def test_a_time_in_the_hour_that_is_left_out_is_read_by_either_clock() -> None:
    local = datetime.datetime(2026, 3, 8, 2, 30)
    assert hours(local) == ["1:30 AM EST", "3:30 AM EDT"]
    assert is_missing(local, NEW_YORK)
    assert question(local, NEW_YORK).startswith("There is no 2:30 AM on Sun, Mar 8, 2026")


@pytest.mark.parametrize(
    ("month", "day", "hour", "minute"),
    [(3, 8, 1, 59), (3, 8, 3, 0), (11, 1, 0, 59), (11, 1, 2, 0), (7, 4, 1, 30)],
)
def test_any_other_time_has_one_reading(month: int, day: int, hour: int, minute: int) -> None:
    assert len(readings(datetime.datetime(2026, month, day, hour, minute), NEW_YORK)) == 1


def test_the_ends_of_all_time_have_one_reading() -> None:
    for local in (datetime.datetime.min, datetime.datetime.max):
        assert readings(local, NEW_YORK) == (local.replace(tzinfo=NEW_YORK),)


@pytest.mark.parametrize(
    ("starts", "ends", "fits"),
    [
        ("19:30", "19:50", True),
        ("23:30", "00:10", True),
        ("20:00", "00:00", True),
        ("18:00", "06:00", True),
        ("12:00", "00:00", True),
        ("18:00", "06:01", False),
        ("19:30", "07:50", False),
        ("19:50", "19:30", False),
        ("19:30", "19:30", False),
        ("10:00", "09:00", False),
        ("11:00", "01:00", False),
    ],
)
def test_past_midnight_a_stretch_is_at_most_half_a_day(starts: str, ends: str, fits: bool) -> None:
    """So that AM for PM, and times exchanged, are still caught."""
    from_time, to_time = (datetime.time.fromisoformat(text) for text in (starts, ends))
    fault = length_fault(from_time, to_time)
    assert (fault == "") is fits
    assert fits or "Is it AM or PM?" in fault
