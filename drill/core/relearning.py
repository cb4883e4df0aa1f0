"""The plain measure of what a member would have to relearn to march another spot.

0 is nothing, 255 the most: another rank, another part, and how far apart the two places stand
on average, less the share of sets already practised. The weights are the band's common sense
(common practice, no source).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from drill.core.problem import MAX_RELEARNING

OTHER_RANK = 40
OTHER_PART = 30
FARTHEST = MAX_RELEARNING - OTHER_RANK - OTHER_PART
UNKNOWN_DISTANCE = 120
UNITS_PER_POINT = 360
"""half an 8-to-5 step (1/32 inches) of average distance is one point"""

Floats = npt.NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Home:
    """Where a member stands now: rank and part, and the place whose coordinates they know."""

    rank: str | None
    part: str | None
    place: str | None


@dataclass(frozen=True, slots=True)
class Target:
    """The spot in question."""

    rank: str
    part: str
    place: str


def mean_distances(coordinates: Floats) -> Floats:
    """Mean distance over the sets between every two places.

    ``coordinates``: shape (places, sets, 2) in 1/32 inches, nan where a place is missing;
    the result has shape (places, places), nan where no set has both.
    """
    places = len(coordinates)
    out = np.full((places, places), np.nan)
    for i in range(places):
        gaps = np.hypot(*np.moveaxis(coordinates - coordinates[i], -1, 0))
        known = ~np.isnan(gaps)
        count = known.sum(axis=1)
        total = np.where(known, gaps, 0).sum(axis=1)
        out[i] = np.divide(total, count, out=np.full(places, np.nan), where=count > 0)
    return out


def plain_cost(home: Home, target: Target, distance: float | None, practised: float) -> int:
    """0-255 points; ``distance`` in 1/32 inches or None, ``practised`` the share of sets 0-1."""
    if distance is None or np.isnan(distance):
        points = UNKNOWN_DISTANCE
    else:
        points = min(FARTHEST, round(distance / UNITS_PER_POINT))
    points += OTHER_RANK * (home.rank != target.rank)
    points += OTHER_PART * (home.part != target.part)
    return min(MAX_RELEARNING, round(points * (1 - min(max(practised, 0.0), 1.0))))
