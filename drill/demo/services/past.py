"""The demo season so far: every past performance as it would have been made, on its days."""

from __future__ import annotations

import datetime
from collections.abc import Iterator
from contextlib import contextmanager
from unittest.mock import patch

from django.utils import timezone

from bandops.lib.accounts.models import User
from bandops.lib.outbox.models import Job
from drill.events.enums import EventKind
from drill.events.models import Event
from drill.lineup.services.drafts import open_draft
from drill.publishing.services.print_jobs import group_of
from drill.publishing.services.publishing import publish_lineup
from drill.record.services.record import confirm_record
from roster.people.models import Season

EVE, MORNING_AFTER = datetime.time(20, 15), datetime.time(10, 30)
DAY = datetime.timedelta(days=1)


def make_past(director: User, season: Season) -> int:
    """Publish each past performance on its eve, before its cut-off, and confirm its record the
    day after; how many.

    Their prints are not made: nobody in the demo needs them, and their pages make them again.
    """
    past = Event.objects.filter(season=season, date__lt=season.today())
    events = list(past.exclude(kind=EventKind.REHEARSAL).order_by("date", "pk"))
    for event in events:
        event.season = season
        eve = _at(event.date - DAY, EVE, season)
        with _on(min(eve, event.cut_off or eve)):
            draft = open_draft(actor=director, event=event)
            lineup = publish_lineup(
                actor=director, event=event, seen_version=draft.version, seen_number=None
            )
            Job.objects.filter(group=group_of(lineup)).delete()
        with _on(_at(event.date + DAY, MORNING_AFTER, season)):
            confirm_record(
                actor=director,
                event=event,
                seen_lineup=lineup.pk,
                chosen={},
                today=season.today(),
            )
    return len(events)


def _at(day: datetime.date, time: datetime.time, season: Season) -> datetime.datetime:
    return datetime.datetime.combine(day, time, tzinfo=season.zone)


@contextmanager
def _on(then: datetime.datetime) -> Iterator[None]:
    """As if it were then."""
    with patch.object(timezone, "now", lambda: then):
        yield
