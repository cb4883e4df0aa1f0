"""What each member would have to relearn, from the rows."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass

import numpy as np

from drill.fundamentals.models import PassedFundamental
from drill.fundamentals.services.fundamentals import fundamentals_of
from drill.lineup.core.relearn import Load, cost_without_drill, loads
from drill.lineup.core.set_gaps import Knowledge, ShowDrill, Target
from drill.rehearsals.services.practised import practised
from drill.shows.models import DrillSet, Path, Position, ShowVersion
from drill.shows.services.paths import codes_of, moves_of
from roster.people.models import Member, Season
from roster.ranks.models import Spot

LoadKey = tuple[int, int, int]
"""(member, spot, show) ids"""


@dataclass(frozen=True)
class Drills:
    """The shows in question. ``dots``: show id -> spot id -> dot."""

    versions: Mapping[int, ShowVersion]
    shows: Mapping[int, ShowDrill]
    dots: Mapping[int, Mapping[int, str]]


def read_drills(
    season: Season,
    versions: Mapping[int, ShowVersion],
    dots: Mapping[int, Mapping[int, str]],
) -> Drills:
    """The versions as arrays (four queries whatever their number)."""
    show_of = {version.pk: show for show, version in versions.items()}
    sets: dict[int, list[DrillSet]] = {show: [] for show in versions}
    for one in DrillSet.objects.filter(version__in=list(show_of)).order_by("order"):
        sets[show_of[one.version_id]].append(one)
    at: dict[int, list[tuple[int, str, int, int]]] = {show: [] for show in versions}
    rows = Position.objects.filter(set__version__in=list(show_of))
    for version, row, label, x, y in rows.values_list(
        "set__version", "set_id", "dot__label", "x", "y"
    ):
        at[show_of[version]].append((row, label, x, y))
    codes = _codes(season, show_of)
    shows = {show: _drill(sets[show], at[show], codes[show]) for show in versions}
    return Drills(versions, shows, dots)


def _codes(
    season: Season, show_of: Mapping[int, int]
) -> dict[int, dict[tuple[str, int], frozenset[str]]]:
    """Show id -> (dot, set id) -> the fundamentals of its kept words."""
    found: dict[int, dict[tuple[str, int], frozenset[str]]] = {s: {} for s in show_of.values()}
    rows = Path.objects.filter(set__version__in=list(show_of)).exclude(words="")
    kept = list(rows.values_list("set__version", "set_id", "dot__label", "words"))
    fundamentals = fundamentals_of(season) if kept else {}
    for version, row, label, words in kept:
        found[show_of[version]][label, row] = codes_of(moves_of(words, fundamentals))
    return found


def _drill(
    sets: list[DrillSet],
    at: Iterable[tuple[int, str, int, int]],
    codes: Mapping[tuple[str, int], frozenset[str]],
) -> ShowDrill:
    rows = list(at)
    labels = sorted({label for _, label, _, _ in rows})
    row_of = {label: i for i, label in enumerate(labels)}
    index_of = {row.pk: i for i, row in enumerate(sets)}
    points = np.full((len(labels), len(sets), 2), np.nan)
    for set_id, label, x, y in rows:
        points[row_of[label], index_of[set_id]] = x, y
    by_index = {(label, index_of[pk]): found for (label, pk), found in codes.items()}
    return ShowDrill(tuple(labels), tuple(row.label for row in sets), points, by_index)


@dataclass(frozen=True)
class Practised:
    """Who has practised what: (member, show) -> spot -> set indices (ids)."""

    sets: Mapping[tuple[int, int], Mapping[int, frozenset[int]]]
    passed: Mapping[int, frozenset[str]] | None
    """member id -> fundamentals passed; None where the season keeps no record"""


@dataclass(frozen=True)
class Home:
    """Where a member belongs (ids): the spot they hold with its rank and part, or the rank and
    part of their alternate's place."""

    rank: int | None = None
    part: int | None = None
    spot: int | None = None


def read_practised(season: Season, drills: Drills, members: Iterable[int]) -> Practised:
    """The practice log and the fundamentals passed (a fixed number of queries)."""
    wanted = set(members)
    found: dict[tuple[int, int], dict[int, frozenset[int]]] = defaultdict(dict)
    done = practised(season, drills.versions, drills.dots, wanted)
    for (member, spot, show), sets in done.items():
        found[member, show][spot] = sets
    passes: dict[int, set[str]] = defaultdict(set)
    for member, code in PassedFundamental.objects.filter(member__season=season).values_list(
        "member_id", "code"
    ):
        passes[member].add(code)
    passed = {m: frozenset(passes.get(m, ())) for m in wanted} if passes else None
    return Practised(found, passed)


def knowledge(
    drills: Drills, practised: Practised, member: int, home: Home, show: int
) -> Knowledge:
    """What a member knows of one show."""
    dots = drills.dots[show]
    done = practised.sets.get((member, show), {})
    worked = {dots[spot]: sets for spot, sets in done.items() if spot in dots}
    passed = practised.passed
    return Knowledge(
        str(home.rank) if home.rank else None,
        str(home.part) if home.part else None,
        dots.get(home.spot or 0),
        worked,
        None if passed is None else passed.get(member, frozenset()),
    )


def target(dots: Mapping[int, str], spot: Spot) -> Target:
    """A spot as the measure sees it."""
    return Target(str(spot.rank_id), str(spot.part_id), dots[spot.pk])


def home_of(member: Member, held: Spot | None) -> Home:
    """Where the member belongs: their spot, else their alternate's place, else nowhere."""
    if held is not None:
        return Home(held.rank_id, held.part_id, held.pk)
    place = getattr(member, "alternate_place", None)
    return Home(place.rank_id, place.part_id) if place is not None else Home()


def cost_of(loads: Iterable[Load], home: Home, spot: Spot) -> int:
    """The cost of a spot over the shows in which it has coordinates."""
    costs = [load.cost for load in loads if load.total]
    if costs:
        return round(sum(costs) / len(costs))
    rank, part = (str(pk) if pk else None for pk in (home.rank, home.part))
    return cost_without_drill(rank, part, Target(str(spot.rank_id), str(spot.part_id), ""))


def loads_of(
    drills: Drills,
    practised: Practised,
    homes: Mapping[int, Home],
    spots_of: Mapping[int, list[Spot]],
) -> dict[LoadKey, Load]:
    """The load of every member for their ``spots_of`` (member id -> spots), show by show; the
    spot they hold asks nothing of them."""
    found: dict[LoadKey, Load] = {}
    for member, home in homes.items():
        wanted = [spot for spot in spots_of[member] if spot.pk != home.spot]
        for show, drill in drills.shows.items():
            knows = knowledge(drills, practised, member, home, show)
            targets = [target(drills.dots[show], spot) for spot in wanted]
            for spot, load in zip(wanted, loads(drill, knows, targets), strict=True):
                found[member, spot.pk, show] = load
    return found
