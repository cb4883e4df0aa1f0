"""Open spots of the published lineup, in segments that are not over."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass

from bandops.lib.keys import key
from drill.events.models import Segment
from drill.gameday.core.fills import open_seats
from drill.gameday.services.desk import Desk
from drill.lineup.core.problem import Seat
from roster.ranks.models import Spot


@dataclass(frozen=True)
class OpenSpot:
    """A spot and the segments in which nobody marches it."""

    spot: Spot
    segments: tuple[Segment, ...]

    @property
    def where(self) -> str:
        return ", ".join(segment.name for segment in self.segments)


def open_spots(desk: Desk) -> list[OpenSpot]:
    """Spots to fill, in printing order."""
    return _by_spot(desk, open_seats(desk.field, desk.clock.keys))


def left_open_spots(desk: Desk) -> list[OpenSpot]:
    """Spots that staff leave open by choice."""
    empty = (seat for seat, member in desk.field.seats.items() if member is None)
    chosen = desk.field.problem.left_open
    return _by_spot(desk, (s for s in empty if s in chosen and s[0] in desk.clock.keys))


def _by_spot(desk: Desk, seats: Iterable[Seat]) -> list[OpenSpot]:
    found: dict[str, set[str]] = defaultdict(set)
    for segment, spot in seats:
        found[spot].add(segment)
    return [
        OpenSpot(row, tuple(s for s in desk.clock.left if key(s.pk) in found[spot]))
        for spot, row in desk.built.spots.items()
        if spot in found
    ]
