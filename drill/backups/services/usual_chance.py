"""The chance that somebody not reported is out, from the season and its performances so far."""

from __future__ import annotations

import datetime

from django.db.models import Min

from drill.absences.models import Absence
from drill.backups.core.usual import UsualChance, usual
from drill.backups.services.chances import histories_to_show, past_to_show
from drill.events.enums import EventKind
from drill.lineup.enums import LineupState
from drill.lineup.models import Lineup
from roster.people.models import Season


def usual_chance(season: Season, before: datetime.date | None = None) -> UsualChance:
    """The chance at an event on a day (today where none is said), from the performances before it
    that are over; of those before anything was noted here nobody knows who was missing. A fixed
    number of queries."""
    today = season.today()
    past = past_to_show(season, min(before or today, today))
    since = _noted_since(season)
    performances = [
        e for e in past if e.kind != EventKind.REHEARSAL and since is not None and e.date >= since
    ]
    found = histories_to_show(season, performances).values()
    given = None if season.usual_out is None else float(season.usual_out)
    return usual(given, len(performances), list(found))


def _noted_since(season: Season) -> datetime.date | None:
    """The first day that an absence or a published lineup is about; None before there is one."""
    absences = Absence.objects.filter(member__season=season)
    said = absences.aggregate(first=Min("from_date"), at=Min("event__date"))
    told = Lineup.objects.filter(event__season=season, state=LineupState.PUBLISHED)
    days = [*said.values(), told.aggregate(at=Min("event__date"))["at"]]
    return min((day for day in days if day is not None), default=None)
