"""Reused reads of a show's versions."""

from __future__ import annotations

from collections.abc import Iterable

from django.db.models import Count, Sum

from drill.shows.models import DotMap, DrillSet, Position, ShowVersion
from drill.shows.ties import MADE_FOR
from roster.ranks.models import Spot


def versions_in_use(show_ids: set[int]) -> dict[int, ShowVersion]:
    """Show id -> the version in use."""
    versions = ShowVersion.objects.filter(is_variant=False, show_id__in=show_ids)
    return {version.show_id: version for version in versions.order_by("order")}


def with_occasions(versions: Iterable[ShowVersion]) -> list[ShowVersion]:
    """The versions, variants with the words for what they were made for."""
    found = list(versions)
    for answer in MADE_FOR.ask(v.pk for v in found if v.is_variant):
        for version in found:
            version.made_for = answer.get(version.pk, version.made_for)
    return found


def dots_of(show_id: int, spots: Iterable[Spot]) -> dict[int, str]:
    """Spot id -> label of the dot it marches in the show."""
    mapped = dict(DotMap.objects.filter(show_id=show_id).values_list("spot_id", "dot__label"))
    return {s.pk: mapped.get(s.pk, s.label) for s in spots}


NO_SIZE = {"sets": 0, "counts": 0, "dots": 0}


def version_sizes(versions: Iterable[ShowVersion]) -> dict[int, dict[str, int]]:
    """Version id -> how many sets, counts and dots it has."""
    ids = [version.pk for version in versions]
    sums = DrillSet.objects.filter(version__in=ids).values("version_id")
    found = {
        row["version_id"]: {"sets": row["sets"], "counts": row["counts"], "dots": 0}
        for row in sums.annotate(sets=Count("pk"), counts=Sum("counts"))
    }
    dots = Position.objects.filter(set__version__in=ids).values("set__version_id")
    for row in dots.annotate(dots=Count("dot", distinct=True)):
        found[row["set__version_id"]]["dots"] = row["dots"]
    return found
