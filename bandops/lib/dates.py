"""Dates: which ones anything may have, and how they are written."""

from __future__ import annotations

import datetime
from zoneinfo import ZoneInfo

from django.utils.dateformat import format as formatted

DAY = "j M Y"
FIRST_YEAR, LAST_YEAR = 1970, 2199
"""Whatever lies outside is a slip of the finger, and breaks calendars and clocks."""
OUT_OF_REACH = f"The year must lie between {FIRST_YEAR} and {LAST_YEAR}."


def in_reach(day: datetime.date) -> bool:
    """True for a day or a moment within the years that anything may have."""
    return FIRST_YEAR <= day.year <= LAST_YEAR


def in_zone(moment: datetime.datetime, zone: ZoneInfo) -> datetime.datetime:
    """The moment by the zone's clock; as it is where no clock can show it."""
    try:
        return moment.astimezone(zone)
    except OverflowError:
        return moment


def day_words(day: datetime.date) -> str:
    """'3 Oct 2026', as every page and print writes a day."""
    return formatted(day, DAY)


def short_day(day: datetime.date) -> str:
    """'3 Oct', where the year is plain."""
    return formatted(day, "j M")


def weekday_words(day: datetime.date) -> str:
    """'Sat 3 Oct'."""
    return formatted(day, "D j M")


def dated_words(day: datetime.date) -> str:
    """'Sat 3 Oct 2026'."""
    return formatted(day, f"D {DAY}")


def stamp_words(moment: datetime.datetime) -> str:
    """'Sat 3 Oct 2026 19:30 CDT', by the clock of the moment's own zone."""
    return formatted(moment, f"D {DAY} H:i T")


def value_words(value: object) -> str:
    """Any value, with days and moments as they are written everywhere."""
    if isinstance(value, datetime.datetime):
        return formatted(value, f"{DAY}, g:i A T")
    return day_words(value) if isinstance(value, datetime.date) else str(value)
