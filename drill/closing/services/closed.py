"""What closing up or cutting makes of a show, before anything is saved."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass

from bandops.lib.errors import Refused
from drill.closing.core import closing
from drill.events import queries as event_queries
from drill.events.models import Event
from drill.shows.core import move_checks as show_move_checks
from drill.shows.core.move_checks import findings
from drill.shows.core.move_findings import Finding
from drill.shows.core.told_drill import Drill
from drill.shows.models import Position, Show, ShowVersion
from drill.shows.queries import dots_of
from drill.shows.services.move_checks import drill_of, limits_of
from roster.ranks import queries as rank_queries
from roster.ranks.models import Spot


@dataclass(frozen=True)
class Changed:
    """A version and the drill it would become, with what the checks find only then."""

    version: ShowVersion
    before: Drill
    after: Drill
    new: tuple[Finding, ...]


def version_at(event: Event, show: Show) -> ShowVersion:
    """The version in use at the event; Refused where the show has no coordinates yet."""
    version = event_queries.current_versions({show.pk}, event).get(show.pk)
    if version is None:
        raise Refused(f"{show} has no coordinates yet: import them first.")
    return version


def line_of(event: Event, show: Show, spot: Spot) -> list[str]:
    """The dots of the spot's rank that stand in the drill at the event, in order of the spots."""
    mates = [s for s in rank_queries.spots(event.season) if s.rank_id == spot.rank_id]
    standing = Position.objects.filter(set__version=version_at(event, show))
    known = set(standing.values_list("dot__label", flat=True).distinct())
    return [dot for dot in dots_of(show.pk, mates).values() if dot in known]


def dot_of(show: Show, spot: Spot) -> str:
    """The dot that the spot marches in the show."""
    return dots_of(show.pk, [spot])[spot.pk]


def closed_up(
    event: Event, show: Show, spot: Spot, line: Sequence[str], sets: Collection[str] | None
) -> tuple[Changed, tuple[str, ...]]:
    """The drill with the spot's dot closed up along ``line`` (dots), and the labels of the
    sets it is done in: ``sets``, or those in which the dots form a line."""
    version = version_at(event, show)
    before = drill_of(version, event.season)
    rows = {dot: row for row, dot in enumerate(before.dots)}
    dot = dot_of(show, spot)
    if dot not in rows:
        raise Refused(f"{dot} has no coordinates in {version}: nothing to close up.")
    unknown = [name for name in line if name not in rows]
    if unknown:
        raise Refused(f"{version} has no dot {', '.join(unknown)}.")
    if dot not in line or len(set(line)) < 3:
        raise Refused(f"To close up, the line needs {dot} and at least two others.")
    along = [rows[name] for name in dict.fromkeys(line)]
    chosen = (
        closing.lines_of(before, along, rows[dot])
        if sets is None
        else [at for at, head in enumerate(before.sets) if head.label in sets]
    )
    after = closing.close_up(before, along, rows[dot], chosen)
    labels = tuple(before.sets[at].label for at in chosen)
    return _changed(event, version, before, after), labels


def cut_down(event: Event, show: Show, first: str, last: str, counts: int) -> Changed:
    """The drill without the sets from ``first`` to ``last`` (labels)."""
    version = version_at(event, show)
    before = drill_of(version, event.season)
    order = {head.label: at for at, head in enumerate(before.sets)}
    if first not in order or last not in order:
        raise Refused(f"{version} no longer has that set: choose again.")
    if counts < 1:
        raise Refused("Say how many counts it takes to reach the next set.")
    try:
        after = closing.cut(before, order[first], order[last], counts)
    except ValueError as error:
        raise Refused(str(error)) from error
    return _changed(event, version, before, after)


def _changed(event: Event, version: ShowVersion, before: Drill, after: Drill) -> Changed:
    limits = limits_of(event.season)
    found = show_move_checks.fresh(before, findings(before, limits), after, findings(after, limits))
    return Changed(version, before, after, tuple(found))
