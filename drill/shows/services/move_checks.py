"""A version's moves checked, and what the checks warn about."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np

from bandops.lib.accounts.models import User
from bandops.lib.audit.recording import recorded
from bandops.lib.errors import Refused
from drill.field import queries as field_queries
from drill.field.models import DrillSettings
from drill.shows.core.move_checks import findings, fresh
from drill.shows.core.move_findings import Fault, Finding
from drill.shows.core.moves import Limit, Limits, PathKind, Way
from drill.shows.core.told_drill import Drill, SetHead
from drill.shows.models import Dot, Position, ShowVersion, StepLimit
from drill.shows.queries import dots_of
from drill.shows.services.paths import Described, described_ways
from roster.people.models import Season
from roster.ranks import queries as rank_queries

Cell = tuple[int, int]
"""a set and a dot by where they are in the arrays"""


@dataclass(frozen=True)
class Checked:
    """A version with its drill and everything found in it, worst first."""

    version: ShowVersion
    drill: Drill
    found: tuple[Finding, ...]


def check_version(version: ShowVersion, season: Season) -> Checked:
    """Check every move of a version (a fixed number of queries)."""
    drill = drill_of(version, season)
    return Checked(version, drill, findings(drill, limits_of(season)))


def new_warnings(before: Checked, after: Checked) -> list[Finding]:
    """What a change brought about, worst first: impossible moves and people too close. What is
    not written yet is no news, and the edges are told by whoever wrote."""
    told = (Fault.STEP, Fault.CLOSE)
    found = fresh(before.drill, before.found, after.drill, after.found)
    return [finding for finding in found if finding.fault in told]


def limits_of(season: Season) -> Limits:
    """The season's limits; instruments by their keys."""
    settings = field_queries.drill_settings(season)
    special = tuple(
        Limit(
            row.largest_step,
            str(row.instrument_id) if row.instrument_id else "",
            row.direction,
            row.from_tempo,
        )
        for row in StepLimit.objects.filter(season=season)
    )
    return Limits(settings.largest_step, settings.closest_gap, special)


def drill_of(version: ShowVersion, season: Season) -> Drill:
    """The version's sets and dots as arrays.

    Dots are the show's that stand in any set of the version; a dot's instrument is that of
    the spot that marches it.
    """
    sets = list(version.sets.all())
    rows = list(
        Position.objects.filter(set__version=version).values_list("set_id", "dot_id", "x", "y")
    )
    used = {dot for _, dot, _, _ in rows}
    dots = [p for p in Dot.objects.filter(show=version.show_id) if p.pk in used]
    heads = tuple(SetHead(s.label, s.counts, s.tempo) for s in sets)
    at_set = {s.pk: i for i, s in enumerate(sets)}
    at_dot = {p.pk: i for i, p in enumerate(dots)}
    where = np.zeros((len(sets), len(dots), 2), dtype=np.int64)
    known = np.zeros((len(sets), len(dots)), dtype=bool)
    for set_id, dot_id, x, y in rows:
        cell = at_set[set_id], at_dot[dot_id]
        where[cell], known[cell] = (x, y), True
    ways = {
        (at_set[s], at_dot[p]): _way(described)
        for (s, p), described in described_ways(version, season).items()
        if p in at_dot and at_set[s] > 0
    }
    names = tuple(p.label for p in dots)
    return Drill(heads, names, _instruments(version, season, names), where, known, ways)


def _way(described: Described) -> Way:
    if described.points is None or described.as_drawn:
        return Way(PathKind.UNKNOWN, told=described.told, as_drawn=described.as_drawn)
    return Way(PathKind.DESCRIBED, described.points, described.facings)


def _instruments(version: ShowVersion, season: Season, dots: Iterable[str]) -> tuple[str, ...]:
    spots = list(rank_queries.spots(season))
    mapped = dots_of(version.show_id, spots)
    plays = {mapped[s.pk]: str(s.part.instrument_id) for s in spots}
    return tuple(plays.get(label, "") for label in dots)


def save_move_settings(
    *, actor: User, season: Season, largest_step: int, closest_gap: int
) -> DrillSettings:
    """What is warned about where no special limit speaks (1/32 inch); a gap of 0 warns never."""
    with recorded(actor, "save move settings"):
        row, _ = DrillSettings.objects.select_for_update().get_or_create(season=season)
        row.largest_step, row.closest_gap = largest_step, closest_gap
        row.full_clean()
        row.save()
    return row


def save_step_limit(*, actor: User, limit: StepLimit) -> StepLimit:
    """Add or change a limit; one for each instrument, direction and tempo."""
    same = StepLimit.objects.filter(
        season=limit.season_id,
        instrument=limit.instrument_id,
        direction=limit.direction,
        from_tempo=limit.from_tempo,
    )
    with recorded(actor, "save step limit"):
        if same.exclude(pk=limit.pk).exists():
            raise Refused("There is already a limit for these: change that one.")
        limit.full_clean()
        limit.save()
    return limit


def remove_step_limit(*, actor: User, limit: StepLimit) -> None:
    """The limit no longer counts; a less specific one does."""
    with recorded(actor, "remove step limit"):
        limit.delete()
