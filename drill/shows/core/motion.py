"""Where everybody stands between two sets, count by count (1/32 inches)."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from fractions import Fraction

Point = tuple[int, int]
Points = Mapping[str, Point]
"""dot -> where it stands"""


@dataclass(frozen=True)
class Frame:
    """One set: where the dots stand in it, and how long the way there takes. ``tracks`` holds
    the points of described paths, one for each count from 0 on; all other ways are straight."""

    label: str
    counts: int
    points: Points
    tempo: int | None = None
    is_subset: bool = False
    tracks: Mapping[str, Sequence[Point]] = field(default_factory=dict)


def at_count(frames: Sequence[Frame], index: int, count: int) -> dict[str, Point]:
    """Everybody's point ``count`` counts into the way to a set; IndexError beyond the sets.

    A dot that was not in the set before appears where it stands in this one.
    """
    frame = frames[index]
    if index == 0 or count >= frame.counts or not frame.counts:
        return dict(frame.points)
    before, share = frames[index - 1].points, Fraction(max(count, 0), frame.counts)
    found = {}
    for dot, (x, y) in frame.points.items():
        if dot in frame.tracks:
            found[dot] = frame.tracks[dot][max(count, 0)]
            continue
        x0, y0 = before.get(dot, (x, y))
        found[dot] = (round(x0 + (x - x0) * share), round(y0 + (y - y0) * share))
    return found


def nearest(points: Points, dot: str, most: int) -> tuple[str, ...]:
    """The dots nearest to one, nearest first; equals by label."""
    x, y = points[dot]
    others = sorted(
        ((px - x) ** 2 + (py - y) ** 2, label) for label, (px, py) in points.items() if label != dot
    )
    return tuple(label for _, label in others[:most])


@dataclass(frozen=True, slots=True)
class Way:
    """How a dot gets to a set: the straight distance, and how far that is a count."""

    distance: float
    counts: int

    @property
    def step(self) -> float | None:
        """1/32 inch a count; None in the first set or where counts are missing."""
        return self.distance / self.counts if self.counts else None


def way(frames: Sequence[Frame], index: int, dot: str) -> Way | None:
    """The way of a dot to a set; None where it was not in the set before."""
    if index == 0 or dot not in frames[index].points:
        return None
    start = frames[index - 1].points.get(dot)
    if start is None:
        return None
    (x0, y0), (x, y) = start, frames[index].points[dot]
    return Way(float((x - x0) ** 2 + (y - y0) ** 2) ** 0.5, frames[index].counts)
