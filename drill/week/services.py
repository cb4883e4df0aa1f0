"""The first run of a season, from its members to its first lineup."""

from __future__ import annotations

import datetime
from collections.abc import Iterable
from dataclasses import dataclass

from django.urls import reverse

from bandops.lib.steps import Step
from drill.absences.models import Absence
from drill.events import queries as event_queries
from drill.events.models import Event
from drill.lineup.models import Lineup
from roster.people.models import Season
from roster.ranks import queries as rank_queries


@dataclass(frozen=True)
class Week:
    """A week with an event, from its Monday on."""

    starts: datetime.date
    events: tuple[Event, ...]
    is_over: bool
    is_this: bool


def weeks_of(season: Season, events: Iterable[Event]) -> list[Week]:
    """The season's weeks, those without any event left out; this week is always there."""
    today = season.today()
    this = today - datetime.timedelta(days=today.weekday())
    by_week: dict[datetime.date, list[Event]] = {this: []}
    for event in events:
        monday = event.date - datetime.timedelta(days=event.date.weekday())
        by_week.setdefault(monday, []).append(event)
    return [Week(d, tuple(by_week[d]), d < this, d == this) for d in sorted(by_week)]


def first_run(season: Season) -> Step:
    """What comes next; from the first lineup on it is the week that knows."""
    return _people(season) or _events(season)


def _people(season: Season) -> Step | None:
    state = rank_queries.set_up(season)
    if not state.has_people:
        return Step("Next: bring in members", reverse("import-upload", args=["members"]))
    if not state.spots:
        return Step("Next: bring in ranks and spots", reverse("import-upload", args=["ranks"]))
    return None


def _events(season: Season) -> Step:
    event = event_queries.next_event(season)
    if event is None:
        return Step("Next: bring in events", reverse("import-upload", args=["events"]))
    if Lineup.objects.filter(event__season=season).exists():
        return Step("See this week", reverse("week"))
    if not Absence.objects.filter(member__season=season).exists():
        return Step("Next: bring in absences", reverse("import-upload", args=["absences"]))
    return Step(f"Next: make the lineup for {event}", reverse("lineup", args=[event.pk]))
