"""Times of calendars that another library has read."""

from __future__ import annotations

import datetime


def in_utc(when: datetime.date) -> datetime.datetime:
    """A start or end that must have a time of day."""
    assert isinstance(when, datetime.datetime)
    return when.astimezone(datetime.UTC)
