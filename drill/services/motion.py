"""A show's version as frames, ready for pictures, set sheets and the moving picture."""

from __future__ import annotations

from collections import defaultdict

from drill.core.motion import Frame, Point
from drill.models import DrillSet, Position, ShowVersion


def frames_of(version: ShowVersion) -> list[Frame]:
    """The version's sets in order (two queries)."""
    at: dict[int, dict[str, Point]] = defaultdict(dict)
    rows = Position.objects.filter(set__version=version).order_by("place__label")
    for pk, label, x, y in rows.values_list("set_id", "place__label", "x", "y"):
        at[pk][label] = (x, y)
    sets = DrillSet.objects.filter(version=version).order_by("order")
    return [Frame(s.label, s.counts, at[s.pk], s.tempo, s.is_between) for s in sets]
