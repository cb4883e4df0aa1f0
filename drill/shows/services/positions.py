"""Where dots stand, written by hand."""

from __future__ import annotations

from collections.abc import Mapping

from bandops.lib.accounts.models import User
from bandops.lib.audit.recording import recorded
from bandops.lib.errors import Overtaken
from drill.shows.models import Position, ShowVersion
from drill.shows.services.versions import BATCH, refuse_used

Spot = tuple[int, int]
"""set id and dot id"""
Point = tuple[int, int]


def save_positions(
    *,
    actor: User,
    version: ShowVersion,
    points: Mapping[Spot, Point | None],
    seen: Mapping[Spot, Point | None],
) -> int:
    """Put dots where they are wanted, or nowhere (None); returns how many changed.

    ``seen`` is where they stood on the page. Overtaken, and nothing is written, where somebody
    moved one of them meanwhile.
    """
    with recorded(actor, "save positions"):
        ShowVersion.objects.select_for_update().get(pk=version.pk)
        refuse_used(version)
        old = positions_at(version, points)
        for spot in points:
            there = old.get(spot)
            if (there and (there.x, there.y)) != seen.get(spot):
                raise Overtaken("Somebody just moved one of these dots: look again.")
        gone = [old[spot].pk for spot, point in points.items() if point is None and spot in old]
        Position.objects.filter(pk__in=gone).delete()
        new, moved = [], []
        for (set_id, dot_id), point in points.items():
            there = old.get((set_id, dot_id))
            if point is None or (there and (there.x, there.y) == point):
                continue
            if there is None:
                new.append(Position(set_id=set_id, dot_id=dot_id, x=point[0], y=point[1]))
            else:
                there.x, there.y = point
                moved.append(there)
        Position.objects.bulk_create(new, batch_size=BATCH)
        Position.objects.bulk_update(moved, ["x", "y"], batch_size=BATCH)
    return len(gone) + len(new) + len(moved)


def positions_at(version: ShowVersion, spots: Mapping[Spot, object]) -> dict[Spot, Position]:
    """The version's positions of these sets and dots."""
    found = Position.objects.filter(
        set__version=version,
        set_id__in={s for s, _ in spots},
        dot_id__in={p for _, p in spots},
    )
    return {(p.set_id, p.dot_id): p for p in found}
