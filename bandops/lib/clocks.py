"""Clock times that a day has twice or not at all, and stretches that go past midnight."""

from __future__ import annotations

import datetime
from zoneinfo import ZoneInfo

from django.core.exceptions import ValidationError
from django.db.models import F, Q

from bandops.lib.dates import clock_words, dated_words, zone_words

DAY, NOON = datetime.timedelta(days=1), datetime.time(12)
LONGEST_NIGHT = datetime.timedelta(hours=12)
"""A longer stretch past midnight is a slip: AM for PM, or the two times exchanged."""


def readings(local: datetime.datetime, zone: ZoneInfo) -> tuple[datetime.datetime, ...]:
    """The moments that a time without a zone may mean there: one on nearly all days.

    Two, the earlier first, where the clocks are put back and show it twice; two as well where
    they are put forward and never show it: that long after the clock before the change (as
    RFC 5545, 3.3.5 reads it), or that long before the clock after it.
    """
    both = [local.replace(tzinfo=zone, fold=fold) for fold in (0, 1)]
    if both[0].utcoffset() == both[1].utcoffset():
        return (both[0],)
    told = {it.astimezone(datetime.UTC) for it in both}
    return tuple(moment.astimezone(zone) for moment in sorted(told))


def is_missing(local: datetime.datetime, zone: ZoneInfo) -> bool:
    """True where the clocks are put forward over that time."""
    found = readings(local, zone)
    return len(found) == 2 and found[0].replace(tzinfo=None, fold=0) != local


def reading_words(moment: datetime.datetime) -> str:
    """'1:30 AM EDT', one of two readings."""
    return f"{clock_words(moment.time())} {zone_words(moment)}"


def question(local: datetime.datetime, zone: ZoneInfo) -> str:
    """What a person is asked about a time that is there twice or not at all."""
    first, second = (reading_words(moment) for moment in readings(local, zone))
    time, day = clock_words(local.time()), dated_words(local)
    if is_missing(local, zone):
        return (
            f"There is no {time} on {day}: the clocks go forward. Choose {first} or {second},"
            " or give another time."
        )
    return f"{time} comes twice on {day}: the clocks go back. Choose {first} or {second}."


def next_day(day: datetime.date) -> datetime.date:
    """The day after; the last day there is has none."""
    return day + DAY if day < datetime.date.max else day


def passes_midnight(starts: datetime.time, ends: datetime.time) -> bool:
    """A stretch that ends at or before its start ends on the next day."""
    return ends <= starts


def length_fault(starts: datetime.time, ends: datetime.time) -> str:
    """What is wrong with a stretch past midnight that is too long to be meant; else nothing."""
    if not passes_midnight(starts, ends):
        return ""
    some_day = datetime.datetime(2000, 1, 1)
    length = datetime.datetime.combine(some_day + DAY, ends) - some_day.combine(some_day, starts)
    if length <= LONGEST_NIGHT and starts >= NOON >= ends:
        return ""
    hours = round(length.total_seconds() / 3600, 1)
    return (
        f"From {clock_words(starts)} to {clock_words(ends)} the next day is {hours:g} hours: "
        "past midnight at most 12, from the afternoon to the next morning. Is it AM or PM?"
    )


def refuse_too_long(starts: datetime.time | None, ends: datetime.time | None) -> None:
    """ValidationError of the field ``ends`` for a stretch that nobody means."""
    fault = length_fault(starts, ends) if starts is not None and ends is not None else ""
    if fault:
        raise ValidationError({"ends": fault})


def has_length(starts: str = "starts", ends: str = "ends") -> Q:
    """The condition that a stretch ends after it starts, be it on the next morning."""
    return Q(**{f"{ends}__gt": F(starts)}) | Q(**{f"{starts}__gte": NOON, f"{ends}__lte": NOON})
