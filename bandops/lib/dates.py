"""Dates: which ones anything may have, and how they are written."""

from __future__ import annotations

import datetime
from zoneinfo import ZoneInfo

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
    return f"{day.day} {day:%b} {day.year}"
