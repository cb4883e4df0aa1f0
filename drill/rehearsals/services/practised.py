"""Which sets members have practised on spots, in whatever version of a show is asked for."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Mapping

from django.db.models import Q, QuerySet

from drill.rehearsals import queries
from drill.rehearsals.core.practised import practised_sets
from drill.rehearsals.models import PracticeEntry
from drill.shows.core.version_changes import Picture
from drill.shows.core.versions import carried
from drill.shows.models import DrillSet, Position, ShowVersion
from roster.people.models import Season

WorkKey = tuple[int, int, int]
"""(member, spot, show) ids"""
Sheets = Mapping[int, list[tuple[int, str]]]
"""version id -> its sets in order, as (id, label)"""
Dots = Mapping[int, Mapping[int, str]]
"""show id -> spot id -> dot"""


def practised(
    season: Season,
    versions: Mapping[int, ShowVersion],
    dots: Dots,
    members: Collection[int] | None = None,
) -> dict[WorkKey, frozenset[int]]:
    """Indices of the sets in ``versions`` (show id -> version) that members have practised: those
    of the practice log, and as many more as was told apart from it. Everybody's where no
    ``members`` (ids) are named.

    A set logged in another version counts where the spot's dot stands the same in this one. A
    fixed number of queries.
    """
    entries = PracticeEntry.objects.filter(member__season=season, show__in=versions)
    logged: dict[WorkKey, set[int]] = defaultdict(set)
    for member, spot, show, one in entries.filter(sets__isnull=False).values_list(
        "member_id", "spot_id", "show_id", "sets"
    ):
        logged[member, spot, show].add(one)
    told = {
        (row.member_id, row.spot_id, row.show_id): row.sets
        for row in queries.practice(season).filter(show__in=versions)
    }
    wanted = {key for key in logged.keys() | told.keys() if members is None or key[0] in members}
    dot_of = {key: dots.get(key[2], {}).get(key[1], "") for key in wanted}
    sheets = _sheets(versions, entries)
    carrier = _Carrier(sheets, _stands(sheets, versions, {dot_of[k] for k in wanted & {*logged}}))
    found = {}
    for key in wanted:
        into = versions[key[2]].pk
        done = carrier.indices(logged.get(key, set()), into, dot_of[key])
        found[key] = practised_sets(len(sheets[into]), done, told.get(key, 0))
    return found


def _sheets(versions: Mapping[int, ShowVersion], entries: QuerySet[PracticeEntry]) -> Sheets:
    """The versions asked for, and those that the log speaks of."""
    into = [version.pk for version in versions.values()]
    logged = entries.filter(sets__isnull=False).values("sets__version")
    rows = DrillSet.objects.filter(Q(version__in=into) | Q(version__in=logged)).order_by("order")
    found: dict[int, list[tuple[int, str]]] = {pk: [] for pk in into}
    for version, pk, label in rows.values_list("version_id", "pk", "label"):
        found.setdefault(version, []).append((pk, label))
    return found


Stands = dict[tuple[int, str], tuple[int, int]]
"""(set id, dot) -> where it stands"""


def _stands(sheets: Sheets, versions: Mapping[int, ShowVersion], dots: set[str]) -> Stands:
    """Where these dots stand; nothing where the log speaks of the versions asked for alone."""
    if sheets.keys() <= {version.pk for version in versions.values()}:
        return {}
    rows = Position.objects.filter(set__version__in=list(sheets), dot__label__in=dots)
    found = rows.values_list("set_id", "dot__label", "x", "y")
    return {(one, dot): (x, y) for one, dot, x, y in found}


class _Carrier:
    """Finds the sets of other versions again."""

    def __init__(self, sheets: Sheets, stands: Stands) -> None:
        self.sheets, self.stands = sheets, stands
        self.at = {
            pk: (version, index)
            for version, rows in sheets.items()
            for index, (pk, _) in enumerate(rows)
        }
        self.known: dict[tuple[int, int, str], dict[int, int]] = {}

    def indices(self, sets: set[int], into: int, dot: str) -> set[int]:
        """The sets (ids) that stand in the version ``into``, by their indices there."""
        found = set()
        for version, index in (self.at[pk] for pk in sets):
            if version == into:
                found.add(index)
            elif (there := self._carried(version, into, dot).get(index)) is not None:
                found.add(there)
        return found

    def _carried(self, version: int, into: int, dot: str) -> dict[int, int]:
        key = version, into, dot
        if key not in self.known:
            self.known[key] = carried(self._way(version, dot), self._way(into, dot))
        return self.known[key]

    def _way(self, version: int, dot: str) -> list[Picture]:
        """The version as one dot sees it."""
        points = [(label, self.stands.get((pk, dot))) for pk, label in self.sheets[version]]
        return [Picture(label, 0, {dot: point} if point else {}) for label, point in points]
