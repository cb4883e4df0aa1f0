"""Reused reads of rehearsals and of what was practised."""

from __future__ import annotations

import datetime

from django.db.models import QuerySet
from django.utils import timezone

from drill.events.enums import EventKind
from drill.events.models import Event, Part
from drill.events.queries import events, first_recent
from drill.rehearsals.models import Practice
from roster.people.models import Season


def rehearsals(season: Season) -> QuerySet[Event]:
    """The season's rehearsals in order, with their segments and blocks."""
    return events(season).filter(kind=EventKind.REHEARSAL).prefetch_related("blocks__show")


def next_rehearsal(season: Season, *, noting: bool = False) -> Event | None:
    """The rehearsal that goes on or comes next; with ``noting`` also one that ended today."""
    now = timezone.now()
    return first_recent(
        rehearsals(season),
        now,
        lambda it: not is_over(it, now) or (noting and it.date == it.today()),
    )


def is_over(rehearsal: Event, now: datetime.datetime) -> bool:
    """True once the last block and the last segment have ended."""
    parts: list[Part] = [*rehearsal.segments.all(), *rehearsal.blocks.all()]
    return rehearsal.over_from(parts) <= now


def performance_after(rehearsal: Event) -> Event | None:
    """The performance that a rehearsal is for: the next one from its day on."""
    performances = events(rehearsal.season).exclude(kind=EventKind.REHEARSAL)
    return performances.filter(date__gte=rehearsal.date).select_related("season").first()


def practice(season: Season) -> QuerySet[Practice]:
    """Sets practised on other spots."""
    return Practice.objects.filter(member__season=season)
