"""Entries of calendars and their content lines."""

from __future__ import annotations

import datetime
from zoneinfo import ZoneInfo

from bandops.lib.calendars import Entry

CHANGED = datetime.datetime(2026, 8, 1, 12, tzinfo=datetime.UTC)
NEW_YORK = ZoneInfo("America/New_York")


def at(
    year: int,
    month: int,
    day: int,
    hour: int = 0,
    minute: int = 0,
    second: int = 0,
    zone: datetime.tzinfo = NEW_YORK,
) -> datetime.datetime:
    return datetime.datetime(year, month, day, hour, minute, second, tzinfo=zone)


def entry(
    starts: datetime.date,
    ends: datetime.datetime | None = None,
    *,
    uid: str = "event-1@band.example",
    summary: str = "Game",
    revision: int = 0,
    place: str = "",
    text: str = "",
) -> Entry:
    """An entry that was changed in August."""
    return Entry(uid, summary, starts, CHANGED, ends, revision, place, text)


def lines(text: bytes) -> list[str]:
    """The content lines, unfolded."""
    return text.decode().replace("\r\n ", "").split("\r\n")[:-1]
