"""What events add to the fields, to shows and to the season's set-up."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from typing import Any

from bandops.lib.dates import weekday_words
from drill.events import queries
from drill.events.models import Event, EventVersion
from drill.field.ties import FIELD_RENAMED, FIELD_USERS
from drill.shows.ties import MADE_FOR
from roster.people.models import Season
from roster.people.ties import EVENTS_TO_COME, SET_UP_PAGE


@FIELD_USERS.join
def events_on_fields(season: Season) -> dict[str, list[str]]:
    """Name of a field -> the events on it."""
    found: dict[str, list[str]] = defaultdict(list)
    for event in Event.objects.filter(season=season):
        found[event.field_type].append(f"{event}, {weekday_words(event.date)}")
    return found


@FIELD_RENAMED.join
def follow_field(season_id: int, old: str, new: str) -> None:
    """Events stay on their field under its new name."""
    Event.objects.filter(season=season_id, field_type=old).update(field_type=new)


@MADE_FOR.join
def events_of_variants(version_ids: Iterable[int]) -> dict[int, str]:
    """Version id -> the event it was made for."""
    own = EventVersion.objects.filter(version__in=list(version_ids)).select_related("event")
    return {link.version_id: str(link.event) for link in own}


@SET_UP_PAGE.join
def how_many(season: Season) -> dict[str, Any]:
    """How many events there are."""
    return {"events": Event.objects.filter(season=season).count()}


@EVENTS_TO_COME.join
def events_to_come(season: Season) -> int:
    return len(queries.not_over(queries.events(season)))
