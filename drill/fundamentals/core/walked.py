"""A fundamental as it is marched: its moves, and the feet on each count."""

from __future__ import annotations

import cmath
import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from drill.fundamentals.core.definition import Foot, Fundamental


@dataclass(frozen=True)
class Move:
    """A fundamental done over counts; ``step`` in inches where it is not the run's own.

    ``heading`` sets the facing without a movement (how somebody stands before they move).
    ``along`` is the heading on the field by which steps are laid whatever the facing, degrees.
    """

    fundamental: Fundamental
    counts: int
    step: float | None = None
    heading: float | None = None
    along: float | None = None


@dataclass(frozen=True, slots=True)
class Footprint:
    """A foot put down: on which count of the run, where (inches), pointing where (degrees)."""

    foot: Foot
    count: int
    x: float
    y: float
    facing: float


@dataclass(frozen=True)
class Run:
    """What moves come to. Arrays have a row for the start and one after each count; ``ends``
    holds the count on which each move is over, ``wrong_foot`` the moves whose pivot foot is not
    the one on the ground, ``next_foot`` would step next."""

    points: NDArray[np.float64]
    facings: NDArray[np.float64]
    horns: NDArray[np.float64]
    prints: tuple[Footprint, ...]
    ends: tuple[int, ...]
    wrong_foot: tuple[int, ...]
    next_foot: Foot

    @property
    def counts(self) -> int:
        return len(self.points) - 1

    @property
    def end(self) -> tuple[float, float]:
        """Where it ends, inches."""
        return (float(self.points[-1, 0]), float(self.points[-1, 1]))

    @property
    def facing(self) -> float:
        """The facing at the end, degrees, with all turns counted."""
        return float(self.facings[-1])

    @property
    def looks(self) -> tuple[float, float]:
        """The unit vector of the facing at the end."""
        at = turned(1j, self.facing)
        return (at.real, at.imag)


def turned(vector: complex, degrees: float) -> complex:
    """The vector (x + iy) turned to the left; exact for whole quarters."""
    quarters, rest = divmod(degrees, 90)
    vector *= (1, 1j, -1, -1j)[int(quarters) % 4]
    return vector * cmath.exp(1j * math.radians(rest)) if rest else vector
