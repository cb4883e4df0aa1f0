"""Dates and times: which ones anything may have, and how all pages, prints and mails write them."""

from __future__ import annotations

import datetime
from collections.abc import Callable
from zoneinfo import ZoneInfo

from django.utils import timezone
from django.utils.dateformat import format as formatted
from django.utils.dateformat import time_format

DAY, CLOCK = "M j, Y", "g:i A"
Words = Callable[[datetime.datetime, ZoneInfo | None], str]
FIRST_YEAR, LAST_YEAR = 1970, 2199
"""Whatever lies outside is a slip of the finger, and breaks calendars and clocks."""
NO_WAIT, LONGEST_WAIT = datetime.timedelta(0), datetime.timedelta(days=8)
"""A phone sends nothing by itself that has waited for more than a week."""
RIGHT = datetime.timedelta(minutes=2)
"""How far the clock of a phone may be off, the way to us included, and still be right."""
OUT_OF_REACH = f"The year must be between {FIRST_YEAR} and {LAST_YEAR}."


def in_reach(day: datetime.date) -> bool:
    """True for a day or a moment within the years that anything may have."""
    return FIRST_YEAR <= day.year <= LAST_YEAR


def made_at(
    told: datetime.datetime | None,
    sent: datetime.datetime | None,
    arrived: datetime.datetime,
) -> datetime.datetime:
    """When something was made that a phone told of later; never after it arrived.

    A clock that is right is believed, so that what one phone did keeps its order however long each
    took to arrive. One that is wrong is wrong in both of its times: what it made is as long before
    its arrival as it waited. A wait that cannot be (negative, longer than a phone keeps anything)
    is none.
    """
    moments = [m for m in (told, sent) if m is not None]
    if told is None or any(m.tzinfo is None or not in_reach(m) for m in moments):
        return arrived
    waited = (sent or arrived) - told
    if not NO_WAIT <= waited <= LONGEST_WAIT:
        return arrived
    is_right = sent is None or abs(arrived - sent) <= RIGHT
    return min(told, arrived) if is_right else arrived - waited


def in_zone(moment: datetime.datetime, zone: datetime.tzinfo) -> datetime.datetime:
    """The moment by the zone's clock; as it is where no clock can show it."""
    try:
        return moment.astimezone(zone)
    except OverflowError:
        return moment


def day_words(day: datetime.date) -> str:
    """'Oct 3, 2026', where the day of the week does not matter."""
    return formatted(day, DAY)


def short_day(day: datetime.date) -> str:
    """'Oct 3', where the year is plain."""
    return formatted(day, "M j")


def weekday_name(day: datetime.date) -> str:
    """'Tuesday'."""
    return formatted(day, "l")


def weekday_words(day: datetime.date) -> str:
    """'Sat, Oct 3', as pages write the day of an event."""
    return formatted(day, "D, M j")


def dated_words(day: datetime.date) -> str:
    """'Sat, Oct 3, 2026', where the year matters."""
    return formatted(day, f"D, {DAY}")


def full_words(day: datetime.date) -> str:
    """'Saturday October 3', by whose words a search finds the day."""
    return formatted(day, "l F j")


def clock_words(time: datetime.time) -> str:
    """'7:30 PM'."""
    return time_format(time, CLOCK)


def span_words(starts: datetime.time, ends: datetime.time) -> str:
    """'7:30 to 7:50 PM'; '11:30 PM to 12:10 AM'."""
    return " to ".join(span_ends(starts, ends))


def span_ends(starts: datetime.time, ends: datetime.time) -> tuple[str, str]:
    """Both ends of a span; AM or PM stands once where it is the same half of the day."""
    same_half = starts < ends and (starts.hour < 12) == (ends.hour < 12)
    return time_format(starts, "g:i" if same_half else CLOCK), clock_words(ends)


def zone_words(moment: datetime.datetime) -> str:
    """'PDT'; 'UTC+03' where the zone has no letters of its own."""
    name = moment.tzname() or ""
    return f"UTC{name}" if name[:1] in ("+", "-") else name


def zone_beside(moment: datetime.datetime) -> str:
    """The zone's letters where its clock differs from the season's, else nothing.

    The season's zone is the one that Django has active: every page and print sets it.
    """
    here = local(moment)
    return "" if here.utcoffset() == moment.utcoffset() else zone_words(moment)


def moment_words(moment: datetime.datetime, zone: ZoneInfo | None = None) -> str:
    """'Sat, Oct 3, 2:18 PM', with ' PDT' where the zone's clock differs from the season's; by
    the season's clock where no zone is given."""
    here = local(moment, zone)
    return f"{weekday_words(here)}, {_beside(here)}"


def hour_words(moment: datetime.datetime, zone: ZoneInfo | None = None) -> str:
    """'2:18 PM', with the zone as ``moment_words``."""
    return _beside(local(moment, zone))


def local(moment: datetime.datetime, zone: ZoneInfo | None = None) -> datetime.datetime:
    """By the zone's clock, else the season's."""
    return in_zone(moment, zone or timezone.get_current_timezone())


def _beside(here: datetime.datetime) -> str:
    return f"{clock_words(here.time())} {zone_beside(here)}".rstrip()


def stamp_words(moment: datetime.datetime) -> str:
    """'Sat, Oct 3, 2026, 7:30 PM CDT', by the clock of the moment's own zone."""
    return f"{dated_words(moment)}, {clock_words(moment.time())} {zone_words(moment)}"


def second_words(moment: datetime.datetime, zone: ZoneInfo | None = None) -> str:
    """'Oct 3, 2026, 2:18:05 PM CDT', by the season's clock where no zone is given: for what is
    told to the second, wherever it is read."""
    here = local(moment, zone)
    return f"{formatted(here, f'{DAY}, g:i:s A')} {zone_words(here)}"


Clock = tuple[datetime.date, ZoneInfo]
"""the day of a time, and the zone whose clock tells it"""


def value_words(value: object, clock: Clock | None = None) -> str:
    """Any value, with days, times and moments as they are written everywhere: by the ``clock``
    where one is given; a time by itself has the zone's letters where that is not the season's."""
    if isinstance(value, datetime.time) and clock is not None:
        day, zone = clock
        return hour_words(datetime.datetime.combine(day, value, tzinfo=zone), zone)
    if isinstance(value, datetime.datetime):
        here = local(value, clock[1] if clock else None) if timezone.is_aware(value) else value
        beside = zone_beside(here) if timezone.is_aware(value) else ""
        return f"{day_words(here)}, {clock_words(here.time())} {beside}".rstrip()
    if isinstance(value, datetime.time):
        return clock_words(value)
    return day_words(value) if isinstance(value, datetime.date) else str(value)
