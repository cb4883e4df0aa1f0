"""The audit's clock, which is the database's: web servers whose own clocks differ agree by it."""

from __future__ import annotations

import datetime
import time
from dataclasses import dataclass

from django.db import connection
from django.utils import timezone

MEASURED_EVERY = 60.0
"""seconds for which time passes here as it does there"""


@dataclass
class _Read:
    """What the database's clock said, and when that was by a clock that nobody sets."""

    there: datetime.datetime | None = None
    at: float = 0.0


_read = _Read()


def audit_now() -> datetime.datetime:
    """What an audit entry written now would say; a query once a minute."""
    if connection.vendor != "postgresql":
        return timezone.now()
    since = time.monotonic() - _read.at
    if _read.there is None or since >= MEASURED_EVERY:
        with connection.cursor() as cursor:
            cursor.execute("SELECT clock_timestamp()")
            (_read.there,) = cursor.fetchone()
        # By the moment of the answer: a page counts as read rather too early than too late.
        _read.at, since = time.monotonic(), 0.0
    assert _read.there is not None
    return _read.there + datetime.timedelta(seconds=since)
