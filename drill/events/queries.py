"""Reused reads of events, their travel lists and their own drill."""

from __future__ import annotations

import datetime
from collections.abc import Callable
from itertools import count

from django.db.models import Q, QuerySet
from django.utils import timezone

from drill.events.enums import EventKind, TravelState
from drill.events.models import Event, Segment, TravelList
from drill.shows.models import ShowVersion
from roster.people.models import Season

MOST_BEHIND = datetime.timedelta(days=2)
"""So long after its date by the clock of Greenwich an event may still go on, somewhere."""
FEW = 4
"""events that are read at once to find the next"""


def events(season: Season) -> QuerySet[Event]:
    """The season's events in order, with their segments."""
    return Event.objects.filter(season=season).prefetch_related("segments__show")


def of_earlier_seasons(season: Season) -> QuerySet[Event]:
    """The events of the seasons before, the latest first, with their segments."""
    found = Event.objects.filter(season__starts__lt=season.starts).select_related("season")
    return found.prefetch_related("segments").order_by("-date", "-pk")


def next_event(season: Season, now: datetime.datetime | None = None) -> Event | None:
    """The next performance (no rehearsal) that has not ended; the last one when all have."""
    performances = events(season).exclude(kind=EventKind.REHEARSAL)
    return _first_not_over(performances, now) or performances.order_by("-date").first()


def event_of_today(season: Season) -> Event | None:
    """The first performance of today, by the season's clock."""
    today = Event.objects.filter(season=season, date=season.today())
    return today.exclude(kind=EventKind.REHEARSAL).order_by("call_time", "pk").first()


def next_with_limit(season: Season) -> Event | None:
    """The next performance with a travel limit that has not ended; else the last one."""
    limited = events(season).exclude(travel_limit=None)
    return _first_not_over(limited, None) or limited.order_by("-date").first()


def coming_events(season: Season, now: datetime.datetime | None = None) -> QuerySet[Event]:
    """Events that have not ended."""
    return events(season).filter(pk__in=[event.pk for event in not_over(events(season), now)])


def not_over(rows: QuerySet[Event], now: datetime.datetime | None = None) -> list[Event]:
    """Those of the events that have not ended, each by its own clock; the next one first."""
    now = now or timezone.now()
    return [event for event in _recent(rows, now) if not event.is_over(now)]


def _first_not_over(rows: QuerySet[Event], now: datetime.datetime | None) -> Event | None:
    now = now or timezone.now()
    return first_recent(rows, now, lambda event: not event.is_over(now))


def first_recent(
    rows: QuerySet[Event], now: datetime.datetime, wanted: Callable[[Event], bool]
) -> Event | None:
    """The first that is wanted of those that may not have ended: a few at a time are read until
    there is one."""
    for start in count(0, FEW):
        few = list(_recent(rows, now)[start : start + FEW])
        found = next(filter(wanted, few), None)
        if found is not None or len(few) < FEW:
            return found
    return None


def _recent(rows: QuerySet[Event], now: datetime.datetime) -> QuerySet[Event]:
    """Those that may not have ended, wherever they are."""
    return rows.filter(date__gte=now.astimezone(datetime.UTC).date() - MOST_BEHIND)


def is_over(segment: Segment, now: datetime.datetime | None = None) -> bool:
    """True once the segment has ended by its event's own clock."""
    return segment.event.span(segment)[1] <= (now or timezone.now())


def travellers(event: Event) -> frozenset[int] | None:
    """Ids of the members on the event's posted travel list; None while none is posted."""
    posted = TravelList.objects.filter(event=event, state=TravelState.POSTED)
    rows = list(posted.values_list("travellers__member_id", flat=True))
    return frozenset(pk for pk in rows if pk is not None) if rows else None


def current_versions(show_ids: set[int], event: Event | None = None) -> dict[int, ShowVersion]:
    """Show id -> the version in use; at an event, its own where it has one that still differs."""
    usable = (
        Q(is_variant=False) if event is None else Q(is_variant=False) | Q(at_event__event=event)
    )
    versions = list(ShowVersion.objects.filter(usable, show_id__in=show_ids).order_by("order"))
    usual = {v.show_id: v for v in versions if not v.is_variant}
    known = {v.pk for v in versions if not v.is_variant}
    own = {v.show_id: v for v in versions if v.is_variant}
    return usual | {show: v for show, v in own.items() if not _is_usual_again(v, known)}


def _is_usual_again(version: ShowVersion, known: set[int]) -> bool:
    """An event's version that restores one of the show's own (``known``)."""
    change = version.change or {}
    return change.get("code") == "restore" and change.get("base") in known


def closed_spots(event: Event) -> dict[int, frozenset[int]]:
    """Version of the event's own -> ids of the spots that are closed up in it."""
    own = {v.pk: v.change or {} for v in ShowVersion.objects.filter(at_event__event=event)}
    found: dict[int, frozenset[int]] = {}
    for pk in own:
        spots, at = set(), own.get(pk)
        while at:
            if at["code"] == "close":
                spots.add(at["spot"])
            at = own.get(at["base"])
        found[pk] = frozenset(spots)
    return found
