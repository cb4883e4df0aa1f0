"""Moves written in steps."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np

from drill.field.core.field import UNITS_PER_INCH, UNITS_PER_STEP, units
from drill.shows.core.moves import Limits, Move, Way

S10 = "common practice, no source: 6-to-5 as a sousaphone's limit, one step as the closest gap"
LIMITS = Limits(largest_step=36 * UNITS_PER_INCH, closest_gap=UNITS_PER_STEP)
Point = tuple[float, float]


def at(*points: Point) -> np.ndarray:
    """Points in steps as units."""
    return np.array([[units(x), units(y)] for x, y in points], dtype=np.int64)


def move(
    starts: Sequence[Point],
    ends: Sequence[Point],
    counts: int,
    tempo: int | None = None,
    ways: Mapping[int, Way] | None = None,
) -> Move:
    return Move(at(*starts), at(*ends), counts, tempo, ways or {})
