"""A show's version as frames, ready for pictures, set sheets and the moving picture."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass

from drill.shows.core.motion import Frame, Point
from drill.shows.models import DrillSet, Position, ShowVersion
from drill.shows.pictures.picture import Picture
from drill.shows.services.paths import described_ways
from roster.people.models import Season


@dataclass(frozen=True)
class Player:
    """What a moving picture starts from: so many counts into the way to a set. Its points are
    fetched from an ``address``, or stand in the page as its ``motion``, to be moved without
    network."""

    frames: Sequence[Frame]
    index: int
    count: int
    address: str = ""
    motion: dict[str, object] | None = None

    @property
    def frame(self) -> Frame:
        return self.frames[self.index]

    @property
    def before(self) -> Frame | None:
        return self.frames[self.index - 1] if self.index else None

    @property
    def after(self) -> Frame | None:
        return self.frames[self.index + 1] if self.index + 1 < len(self.frames) else None


@dataclass(frozen=True)
class SetRow:
    """A set of the table beside a moving picture; where a dot stands in it, if it is about one."""

    label: str
    is_subset: bool
    counts: int
    tempo: int | None
    across: str = ""
    depth: str = ""
    way: str = ""


def frames_of(version: ShowVersion, season: Season) -> list[Frame]:
    """The version's sets in order, with the described ways (at most six queries)."""
    at: dict[int, dict[str, Point]] = defaultdict(dict)
    labels: dict[int, str] = {}
    rows = Position.objects.filter(set__version=version).order_by("dot__label")
    for pk, dot, label, x, y in rows.values_list("set_id", "dot_id", "dot__label", "x", "y"):
        at[pk][label], labels[dot] = (x, y), label
    tracks: dict[int, dict[str, list[Point]]] = defaultdict(dict)
    for (pk, dot), described in described_ways(version, season).items():
        if described.points is not None:
            tracks[pk][labels[dot]] = [(int(x), int(y)) for x, y in described.points]
    sets = DrillSet.objects.filter(version=version).order_by("order")
    return [Frame(s.label, s.counts, at[s.pk], s.tempo, s.is_subset, tracks[s.pk]) for s in sets]


def motion_of(frames: Sequence[Frame], on: Picture, only: Sequence[str] = ()) -> dict[str, object]:
    """What the player needs: labels, counts, tempo and points in picture units."""
    return {
        "sets": [
            {
                "label": frame.label,
                "counts": frame.counts,
                "tempo": frame.tempo,
                "points": {
                    label: on.place(*point)
                    for label, point in frame.points.items()
                    if not only or label in only
                },
                "tracks": {
                    label: [on.place(*point) for point in track]
                    for label, track in frame.tracks.items()
                    if not only or label in only
                },
            }
            for frame in frames
        ]
    }
