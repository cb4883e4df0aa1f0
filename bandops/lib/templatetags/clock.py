"""Days and times in templates: no template writes one in another way.

A time of an event is written by the event's own clock, with the zone's letters where they are not
the season's. It stands in a ``<time>`` element, to which a script adds the reader's own time where
their device goes by another clock. Filters that end in ``_words`` are for attributes and mails.
"""

from __future__ import annotations

import datetime
from typing import Protocol
from zoneinfo import ZoneInfo

from django import template
from django.utils.html import format_html
from django.utils.safestring import SafeString

from bandops.lib import dates

register = template.Library()
register.filter("day", dates.weekday_words, expects_localtime=True)
register.filter("dated", dates.dated_words, expects_localtime=True)
register.filter("full_day", dates.day_words, expects_localtime=True)
register.filter("short_day", dates.short_day, expects_localtime=True)
register.filter("clock", dates.clock_words)


class Part(Protocol):
    """What lasts from a time to a time."""

    @property
    def starts(self) -> datetime.time: ...

    @property
    def ends(self) -> datetime.time: ...


class Happening(Protocol):
    """What has a day and a clock of its own: an event."""

    @property
    def zone(self) -> ZoneInfo: ...

    @property
    def called_at(self) -> datetime.datetime | None: ...

    def span(self, part: Part) -> tuple[datetime.datetime, datetime.datetime]: ...

    def local(self, time: datetime.time) -> datetime.datetime: ...


@register.filter
def moment(at: datetime.datetime, of: Happening | None = None) -> SafeString:
    """'Sat, Oct 3, 2:18 PM', by the clock of an event, else of the season."""
    return _element(*_by(at, of), dates.moment_words)


@register.filter
def moment_words(at: datetime.datetime, of: Happening | None = None) -> str:
    return dates.moment_words(*_by(at, of))


@register.filter
def hour(at: datetime.datetime, of: Happening | None = None) -> SafeString:
    """'2:18 PM', where the day is plain."""
    return _element(*_by(at, of), dates.hour_words)


@register.filter
def hour_words(at: datetime.datetime, of: Happening | None = None) -> str:
    return dates.hour_words(*_by(at, of))


@register.filter
def second(at: datetime.datetime) -> SafeString:
    """'Oct 3, 2026, 2:18:05 PM CDT'."""
    return _element(at, None, dates.second_words)


@register.filter
def call(event: Happening) -> SafeString | str:
    """When people are called: '11:00 AM'; nothing where the event has no call."""
    return hour(event.called_at, event) if event.called_at else ""


@register.filter
def at(time: datetime.time, event: Happening) -> SafeString:
    """A time of the event's day."""
    return hour(event.local(time), event)


@register.filter
def start(part: Part, event: Happening) -> SafeString:
    """When a part of an event starts."""
    return hour(event.span(part)[0], event)


@register.filter
def span(part: Part, event: Happening) -> SafeString:
    """'7:30 to 7:50 PM': from when to when a part of an event lasts."""
    starts, ends = event.span(part)
    first, last = dates.span_ends(starts.time(), ends.time())
    return format_html(
        "{} to {}",
        format_html('<time datetime="{}">{}</time>', _iso(starts), first),
        _time(ends, f"{last} {dates.zone_beside(ends)}".rstrip()),
    )


def _by(at: datetime.datetime, of: Happening | None) -> tuple[datetime.datetime, ZoneInfo | None]:
    return at, of.zone if of else None


def _element(at: datetime.datetime, zone: ZoneInfo | None, words: dates.Words) -> SafeString:
    return _time(dates.local(at, zone), words(at, zone))


def _time(local: datetime.datetime, words: str) -> SafeString:
    return format_html(
        '<time datetime="{}" data-zone="{}">{}</time>',
        _iso(local),
        dates.zone_words(local),
        words,
    )


def _iso(moment: datetime.datetime) -> str:
    return moment.isoformat(timespec="minutes")
