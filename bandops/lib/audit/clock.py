"""The audit's clock, which is the database's: web servers whose own clocks differ agree by it."""

from __future__ import annotations

import datetime
import time
from dataclasses import dataclass

from django.db import connection
from django.utils import timezone

MEASURED_EVERY = 60.0
"""seconds for which this machine's clock is taken to stay as far off as it was"""


@dataclass
class _Offset:
    """How far the database's clock is ahead of this machine's, and until when that is good."""

    ahead: datetime.timedelta = datetime.timedelta(0)
    until: float = 0.0


_offset = _Offset()


def audit_now() -> datetime.datetime:
    """What an audit entry written now would say; a query once a minute."""
    if connection.vendor == "postgresql" and time.monotonic() >= _offset.until:
        with connection.cursor() as cursor:
            cursor.execute("SELECT clock_timestamp()")
            (there,) = cursor.fetchone()
        # By the moment of the answer: a page counts as read rather too early than too late.
        _offset.ahead = there - timezone.now()
        _offset.until = time.monotonic() + MEASURED_EVERY
    return timezone.now() + _offset.ahead


def measure_again() -> None:
    """The next question measures, whenever the last one did."""
    _offset.until = 0.0
