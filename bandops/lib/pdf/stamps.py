"""What stands at the foot of prints."""

from __future__ import annotations

import datetime
from zoneinfo import ZoneInfo

from django.utils import timezone

from bandops.lib.dates import stamp_words


def moment_of(time_zone: str, now: datetime.datetime | None = None) -> str:
    """When a print that belongs to no revision was made, in a time zone."""
    return stamp_words(timezone.localtime(now, timezone=ZoneInfo(time_zone)))
