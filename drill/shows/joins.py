"""What shows add to the fields."""

from __future__ import annotations

from collections import defaultdict
from typing import Any

from drill.field.ties import FIELD_PAGE, FIELD_RENAMED, FIELD_USERS
from drill.shows.models import Show
from roster.people.models import Season


@FIELD_USERS.join
def shows_on_fields(season: Season) -> dict[str, list[str]]:
    """Name of a field -> the shows written for it."""
    found: dict[str, list[str]] = defaultdict(list)
    for show in Show.objects.filter(season=season):
        found[show.field_type].append(f"the show {show}")
    return found


@FIELD_RENAMED.join
def follow_field(season_id: int, old: str, new: str) -> None:
    """Shows stay on their field under its new name."""
    Show.objects.filter(season=season_id, field_type=old).update(field_type=new)


@FIELD_PAGE.join
def all_shows(season: Season) -> dict[str, Any]:
    """The shows, each with the way to its field."""
    return {"shows": Show.objects.filter(season=season)}
