"""The first run of a season, from its members to its first lineup."""

from __future__ import annotations

from django.urls import reverse

from bandops.lib.steps import Step
from drill.absences.models import Absence
from drill.events import queries as event_queries
from drill.lineup.models import Lineup
from roster.people.models import Season
from roster.ranks import queries as rank_queries


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
