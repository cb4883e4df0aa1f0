"""What shows add to the fields, and to the next season."""

from __future__ import annotations

from collections import defaultdict
from typing import Any

from drill.field.ties import FIELD_PAGE, FIELD_RENAMED, FIELD_USERS
from drill.shows.models import Dot, DotMap, Show, StepLimit
from roster.people.models import Season
from roster.people.services.next_season import Carried, copies
from roster.people.ties import CARRY_OVER
from roster.ranks.ties import SPOTS_RELABELED


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


@SPOTS_RELABELED.join
def keep_dots(season: Season, changed: dict[int, tuple[str, str]]) -> None:
    """A spot that marched the dot of its old label goes on marching it, unless its show has a
    dot of the new label or says which dot it marches."""
    dots: dict[tuple[int, str], Dot] = {
        (dot.show_id, dot.label): dot for dot in Dot.objects.filter(show__season=season)
    }
    maps = DotMap.objects.filter(show__season=season)
    told = set(maps.values_list("show_id", "spot_id"))
    mapped = set(maps.values_list("dot_id", flat=True))
    for show_id in {show_id for show_id, _ in dots}:
        for spot_id, (old, new) in changed.items():
            dot = dots.get((show_id, old))
            if dot is None or dot.pk in mapped or (show_id, spot_id) in told:
                continue
            if (show_id, new) not in dots:
                DotMap.objects.create(show_id=show_id, spot_id=spot_id, dot=dot)


@CARRY_OVER.join
def copy_limits(carried: Carried) -> None:
    """What moves are checked for; shows are of the year."""
    for limit in StepLimit.objects.filter(season=carried.old):
        instrument = carried.instruments.get(limit.instrument_id or 0)
        copies([limit], season=carried.new, instrument=instrument)
