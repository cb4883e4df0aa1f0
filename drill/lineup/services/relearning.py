"""What each member would have to relearn, from the rows."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass

import numpy as np

from bandops.lib.keys import key
from drill.fundamentals.models import PassedFundamental
from drill.fundamentals.services.fundamentals import fundamentals_of
from drill.lineup.core.lessons import Ints, Lessons
from drill.lineup.core.problem import MAX_RELEARNING
from drill.lineup.core.relearn import UNKNOWN_DISTANCE, Load, loads
from drill.lineup.core.relearn_costs import Pairs, costs_of
from drill.lineup.core.set_gaps import Knowledge, ShowDrill, Target
from drill.rehearsals.services.practised import practised
from drill.shows.models import DrillSet, Path, Position, ShowVersion
from drill.shows.services.paths import codes_of, moves_of
from roster.people.models import Member, Season
from roster.ranks.models import Spot

LoadKey = tuple[str, str, str]
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
        _text(home.rank),
        _text(home.part),
        dots.get(home.spot or 0),
        worked,
        None if passed is None else passed.get(member, frozenset()),
    )


def target(dots: Mapping[int, str], spot: Spot) -> Target:
    """A spot as the measure sees it."""
    return _target(spot, dots[spot.pk])


def _target(spot: Spot, dot: str) -> Target:
    return Target(str(spot.rank_id), str(spot.part_id), dot)


def _text(pk: int | None) -> str | None:
    return str(pk) if pk else None


def home_of(member: Member, held: Spot | None) -> Home:
    """Where the member belongs: their spot, else their alternate's place, else nowhere."""
    if held is not None:
        return Home(held.rank_id, held.part_id, held.pk)
    place = getattr(member, "alternate_place", None)
    return Home(place.rank_id, place.part_id) if place is not None else Home()


class Loads(Mapping[LoadKey, Load]):
    """What every spot of a part they play asks of each member, show by show; a member's are made
    when one of them is asked for. The spot they hold asks nothing of them."""

    def __init__(
        self,
        drills: Drills,
        practised: Practised,
        homes: Mapping[int, Home],
        spots_of: Mapping[int, list[Spot]],
    ) -> None:
        self.drills, self.practised, self.homes = drills, practised, homes
        self.spots_of = spots_of
        self.made: dict[int, dict[LoadKey, Load]] = {}

    def __getitem__(self, wanted: LoadKey) -> Load:
        return self._of(int(wanted[0]))[wanted]

    def __iter__(self) -> Iterator[LoadKey]:
        return (wanted for member in self.homes for wanted in self._of(member))

    def __len__(self) -> int:
        return sum(1 for _ in self)

    def _of(self, member: int) -> dict[LoadKey, Load]:
        if member not in self.homes:
            return {}
        if member not in self.made:
            self.made[member] = dict(self._loads(member, self.homes[member]))
        return self.made[member]

    def _loads(self, member: int, home: Home) -> Iterator[tuple[LoadKey, Load]]:
        wanted = [spot for spot in self.spots_of[member] if spot.pk != home.spot]
        for show, drill in self.drills.shows.items():
            knows = knowledge(self.drills, self.practised, member, home, show)
            targets = [target(self.drills.dots[show], spot) for spot in wanted]
            for spot, load in zip(wanted, loads(drill, knows, targets), strict=True):
                yield (key(member), key(spot.pk), key(show)), load


def lessons_of(
    drills: Drills,
    practised: Practised,
    homes: Mapping[int, Home],
    spots_of: Mapping[int, list[Spot]],
) -> Lessons:
    """What every spot of a part they play costs each member, averaged over the shows in which
    there are sets; the spot they hold is left out."""
    members = sorted(homes, key=key)
    spots = sorted({s.pk: s for mine in spots_of.values() for s in mine}.values(), key=_key_of)
    place = {spot.pk: n for n, spot in enumerate(spots)}
    rows = [
        (n, place[spot.pk])
        for n, member in enumerate(members)
        for spot in spots_of[member]
        if spot.pk != homes[member].spot
    ]
    if not rows:
        return Lessons()
    at, to = np.array(rows, np.int64).T
    total, shows = np.zeros(len(at)), np.zeros(len(at))
    for show, drill in drills.shows.items():
        knows = [knowledge(drills, practised, m, homes[m], show) for m in members]
        targets = [target(drills.dots[show], spot) for spot in spots]
        cost, there = costs_of(drill, Pairs(knows, targets, at, to))
        total, shows = total + cost * there, shows + there
    unseen = _without_drill([homes[m] for m in members], spots, at, to)
    costs = np.where(shows > 0, np.rint(total / np.maximum(shows, 1)), unseen).astype(np.int64)
    keys = tuple(map(key, members)), tuple(map(_key_of, spots))
    return Lessons.of_columns(keys[0], at, keys[1], to, costs)


def _without_drill(homes: list[Home], spots: list[Spot], at: Ints, to: Ints) -> Ints:
    """What pairs of a home and a spot cost while no coordinates are known at all."""
    knows = [Knowledge(_text(home.rank), _text(home.part), None) for home in homes]
    pairs = Pairs(knows, [_target(spot, "") for spot in spots], at, to)
    return np.minimum(MAX_RELEARNING, UNKNOWN_DISTANCE + pairs.elsewhere())


def _key_of(spot: Spot) -> str:
    return key(spot.pk)
