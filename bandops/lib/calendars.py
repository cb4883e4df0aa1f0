"""Calendar feeds that keep to RFC 5545: typed entries in, text out; the same in, the same out."""

from __future__ import annotations

import datetime
from collections.abc import Iterable
from dataclasses import dataclass
from functools import lru_cache
from zoneinfo import ZoneInfo

import icalendar

from bandops.lib.dates import in_reach
from bandops.lib.names import clean_name

PRODUCT = "-//Bandops//Calendar//EN"
ASK_AGAIN = datetime.timedelta(hours=1)
DAY, MINUTE = datetime.timedelta(days=1), datetime.timedelta(minutes=1)
# Since 1970 no clock in the world was changed twice within less than a week.
STRIDE = datetime.timedelta(days=5)
# A zone is described from a little before the first day, so that its clocks then are told.
LEAD = datetime.timedelta(days=31)


@dataclass(frozen=True)
class Entry:
    """One date. ``starts`` is a moment with its zone, or a day for what lasts the whole day.

    ``changed`` comes from the data, never from the clock; ``revision`` only ever rises.
    """

    uid: str
    summary: str
    starts: datetime.datetime | datetime.date
    changed: datetime.datetime
    ends: datetime.datetime | None = None
    revision: int = 0
    place: str = ""
    text: str = ""


def calendar_text(name: str, entries: Iterable[Entry]) -> bytes:
    """The whole calendar, entries in the order of time."""
    calendar = icalendar.Calendar()
    calendar.add("prodid", PRODUCT)
    calendar.add("version", "2.0")
    # Texts are cleaned: a calendar may hold no control characters.
    calendar.add("x-wr-calname", clean_name(name))
    # RFC 7986, 5.7: the property has no type of its own, so its type is said.
    calendar.add("refresh-interval", ASK_AGAIN, parameters={"VALUE": "DURATION"})
    ordered = sorted(entries, key=_order)
    for entry in ordered:
        calendar.add_component(_event(entry))
    written = (m for entry in ordered for m in (entry.starts, entry.ends) if m and in_reach(m))
    years = tuple(sorted({moment.year for moment in written}))
    # Some readers want to know a zone before they meet it.
    calendar.subcomponents[:0] = [
        _zone(name, years) for name in sorted(calendar.get_missing_tzids())
    ]
    content: bytes = calendar.to_ical()
    return content


@lru_cache(maxsize=64)
def _zone(name: str, years: tuple[int, ...]) -> icalendar.Timezone:
    """What the zone's clocks do in those years, change by change; a year without entries costs
    nothing, however many lie between two with some."""
    zone = ZoneInfo(name)
    described = icalendar.Timezone()
    described.add("tzid", name)
    for year in years:
        now, end = (datetime.datetime(y, 1, 1, 12, tzinfo=datetime.UTC) for y in (year, year + 1))
        if year - 1 not in years:
            now -= LEAD
            described.add_component(_clock(now, now, zone))
        while now < end:
            following = min(now + STRIDE, end)
            if _offset(now, zone) != _offset(following, zone):
                described.add_component(_clock(*_change(now, following, zone), zone))
            now = following
    return described


def _change(
    before: datetime.datetime, after: datetime.datetime, zone: ZoneInfo
) -> tuple[datetime.datetime, datetime.datetime]:
    """The minute within which the offset changes."""
    while after - before > MINUTE:
        middle = before + (after - before) // MINUTE // 2 * MINUTE
        if _offset(middle, zone) == _offset(before, zone):
            before = middle
        else:
            after = middle
    return before, after


def _clock(
    before: datetime.datetime, after: datetime.datetime, zone: ZoneInfo
) -> icalendar.TimezoneStandard | icalendar.TimezoneDaylight:
    """The offset from a moment on. RFC 5545, 3.6.5: its onset is told by the clock before it."""
    local = after.astimezone(zone)
    clock = icalendar.TimezoneDaylight() if local.dst() else icalendar.TimezoneStandard()
    clock.add("dtstart", (after + _offset(before, zone)).replace(tzinfo=None))
    clock.add("tzoffsetfrom", _offset(before, zone))
    clock.add("tzoffsetto", _offset(after, zone))
    clock.add("tzname", local.tzname())
    return clock


def _offset(moment: datetime.datetime, zone: ZoneInfo) -> datetime.timedelta:
    return moment.astimezone(zone).utcoffset() or datetime.timedelta()


def _event(entry: Entry) -> icalendar.Event:
    event = icalendar.Event()
    event.add("uid", entry.uid)
    event.add("dtstamp", entry.changed.astimezone(datetime.UTC))
    event.add("sequence", entry.revision)
    event.add("summary", clean_name(entry.summary))
    event.add("dtstart", _written(entry.starts))
    end = _end(entry)
    if end is not None:
        event.add("dtend", _written(end))
    if entry.place:
        event.add("location", clean_name(entry.place))
    if entry.text:
        event.add("description", "\n".join(clean_name(line) for line in entry.text.split("\n")))
    return event


def _end(entry: Entry) -> datetime.datetime | datetime.date | None:
    """The first moment or day that no longer belongs to the entry; none where it is not later."""
    if not isinstance(entry.starts, datetime.datetime):
        return entry.starts + DAY if entry.starts < datetime.date.max else None
    if entry.ends is None or _moment(entry.ends) <= _moment(entry.starts):
        return None
    return entry.ends


def _order(entry: Entry) -> tuple[datetime.datetime, str]:
    return _moment(entry.starts), entry.uid


def _moment(when: datetime.datetime | datetime.date) -> datetime.datetime:
    """In UTC: two local times compare by the clock on the wall, also where it was put back."""
    if not isinstance(when, datetime.datetime):
        when = datetime.datetime.combine(when, datetime.time(), tzinfo=datetime.UTC)
    try:
        return when.astimezone(datetime.UTC)
    except OverflowError:
        # The first or the last hours that a date can name.
        return when.replace(tzinfo=datetime.UTC)


def _written(when: datetime.datetime | datetime.date) -> datetime.datetime | datetime.date:
    """As the calendar writes it: in UTC where the clocks of its zone are not described, and for
    the second of two moments that they show alike (RFC 5545, 3.3.5: the first is meant)."""
    if not isinstance(when, datetime.datetime):
        return when
    is_second = when.utcoffset() != when.replace(fold=0).utcoffset()
    return _moment(when) if is_second or not in_reach(when) else when
