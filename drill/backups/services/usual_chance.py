"""The chance that somebody nobody speaks of is out, from the season and its performances so far."""

from __future__ import annotations

import datetime

from drill.backups.core.usual import UsualChance, usual
from drill.backups.services.chances import histories, past_events
from drill.events.enums import EventKind
from roster.people.models import Season


def usual_chance(season: Season, before: datetime.date | None = None) -> UsualChance:
    """The chance at an event on a day (today where none is said), from the performances before it
    that are over. A fixed number of queries."""
    today = season.today()
    past = past_events(season, min(before or today, today))
    performances = [e for e in past if e.kind != EventKind.REHEARSAL]
    found = histories(season, performances).values()
    given = None if season.usual_out is None else float(season.usual_out)
    return usual(given, len(performances), list(found))
