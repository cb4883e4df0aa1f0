"""Two versions of a show compared, by set, by dot and by the people who march the dots."""

from __future__ import annotations

import datetime
from collections import defaultdict
from dataclasses import dataclass

from drill.shows.core.version_changes import Comparison, DotMove, Picture
from drill.shows.core.versions import compare
from drill.shows.models import DrillSet, Position, ShowVersion
from drill.shows.queries import dots_of
from roster.people import queries as people_queries
from roster.people.models import Member, Season
from roster.ranks import queries as rank_queries
from roster.ranks.models import Spot


@dataclass(frozen=True)
class DotLine:
    """What differs for one dot, and whose it is: the spot that marches it and its holder."""

    dot: str
    spot: Spot | None
    holder: Member | None
    moved: tuple[DotMove, ...]
    rounded: tuple[DotMove, ...]
    added: tuple[int, ...] = ()
    gone: tuple[int, ...] = ()

    @property
    def furthest(self) -> float:
        """Units; 0 where nothing moved."""
        return max((m.distance for m in self.moved), default=0.0)


def pictures_of(version: int) -> tuple[Picture, ...]:
    """The sets of a version (its id) with everybody in them (two queries)."""
    at: dict[int, dict[str, tuple[int, int]]] = defaultdict(dict)
    rows = Position.objects.filter(set__version=version)
    for set_id, dot, x, y in rows.values_list("set_id", "dot__label", "x", "y"):
        at[set_id][dot] = (x, y)
    sets = DrillSet.objects.filter(version=version).order_by("order")
    return tuple(Picture(s.label, s.counts, at[s.pk]) for s in sets)


def compare_versions(before: ShowVersion, after: ShowVersion) -> Comparison:
    """What differs from the one version to the other (a fixed number of queries)."""
    return compare(pictures_of(before.pk), pictures_of(after.pk))


def dot_lines(found: Comparison, season: Season, show_id: int, day: datetime.date) -> list[DotLine]:
    """Each dot with a difference, with its spot and that day's holder, in order of the spots;
    dots that nobody marches last."""
    spots = list(rank_queries.spots(season))
    mapped = dots_of(show_id, spots)
    spot_of = {mapped[s.pk]: s for s in spots}
    held = rank_queries.holders_on(season, day)
    members = {m.pk: m for m in people_queries.active_members(season)}
    touched = {m.dot for m in found.differing} | {p for _, p in (*found.added, *found.gone)}
    order = {s.pk: n for n, s in enumerate(spots)}
    lines = []
    for dot in touched:
        spot = spot_of.get(dot)
        holder = members.get(held.get(spot.pk, 0)) if spot else None
        lines.append(_line(found, dot, spot, holder))
    return sorted(lines, key=lambda x: (order.get(x.spot.pk, 0) if x.spot else 10**6, x.dot))


def _line(found: Comparison, dot: str, spot: Spot | None, holder: Member | None) -> DotLine:
    return DotLine(
        dot,
        spot,
        holder,
        tuple(m for m in found.moved if m.dot == dot),
        tuple(m for m in found.rounded if m.dot == dot),
        tuple(pair for pair, p in found.added if p == dot),
        tuple(pair for pair, p in found.gone if p == dot),
    )
