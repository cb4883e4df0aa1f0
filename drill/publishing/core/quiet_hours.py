"""When a notice may go out."""

from __future__ import annotations

import datetime
from zoneinfo import ZoneInfo

URGENT = datetime.timedelta(hours=12)
"""this close to the call, quiet hours wait for nobody"""
AHEAD = datetime.timedelta(hours=2)
"""what waits must still come so long before the call"""


def wait_until(
    now: datetime.datetime,
    quiet: tuple[datetime.time, datetime.time] | None,
    zone: ZoneInfo,
    call: datetime.datetime,
) -> datetime.datetime | None:
    """When a notice may go out: None for at once, else the end of the quiet hours in ``zone``.

    Quiet hours may span midnight. Nothing waits within 12 hours of the call or after it, nor
    where the quiet hours end less than two hours before it.
    """
    if quiet is None or quiet[0] == quiet[1] or call - now <= URGENT:
        return None
    starts, ends = quiet
    local = now.astimezone(zone)
    clock = local.time()
    over_night = starts > ends
    is_quiet = (clock >= starts or clock < ends) if over_night else starts <= clock < ends
    if not is_quiet:
        return None
    day = local.date()
    if over_night and clock >= starts:
        day += datetime.timedelta(days=1)
    at = datetime.datetime.combine(day, ends, tzinfo=zone)
    return at if call - at >= AHEAD else None
