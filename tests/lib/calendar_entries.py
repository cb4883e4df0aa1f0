"""Entries of calendars and their content lines."""

from __future__ import annotations

import datetime
from zoneinfo import ZoneInfo

from bandops.lib.calendars import Entry

CHANGED = datetime.datetime(2026, 8, 1, 12, tzinfo=datetime.UTC)
NEW_YORK = ZoneInfo("America/New_York")


def at(*when: int, zone: datetime.tzinfo = NEW_YORK) -> datetime.datetime:
    return datetime.datetime(*when, tzinfo=zone)  # type: ignore[arg-type, misc]


def entry(starts: datetime.date, **values: object) -> Entry:
    known = {"uid": "event-1@band.example", "summary": "Game", "changed": CHANGED}
    return Entry(starts=starts, **(known | values))  # type: ignore[arg-type]


def lines(text: bytes) -> list[str]:
    """The content lines, unfolded."""
    return text.decode().replace("\r\n ", "").split("\r\n")[:-1]
