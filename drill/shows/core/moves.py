"""One move, from one set to the next: how long the steps are, and which limit they keep to.

Distances are whole 1/32 inches as in ``field``. Floating point only sorts out what is nowhere
near a limit; what is near is decided in whole numbers, so that nothing at a boundary is missed
or invented.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from enum import StrEnum
from fractions import Fraction

import numpy as np
from numpy.typing import NDArray

from drill.field.core.field import UNITS_PER_INCH, UNITS_PER_STEP, UNITS_PER_YARD

Ints = NDArray[np.int64]
Floats = NDArray[np.float64]

PHRASE = 4
"""counts are given in whole fours where more are proposed"""
ROUNDING = 2
"""described points are rounded to whole units, which may lengthen a step by this much"""


class PathKind(StrEnum):
    """What is known of the way between two sets."""

    STRAIGHT = "straight"
    DESCRIBED = "described"
    UNKNOWN = "unknown"


class Heading(StrEnum):
    """How the body goes against the way it faces."""

    FORWARD = "forward"
    BACKWARD = "backward"
    SIDEWAYS = "sideways"


@dataclass(frozen=True, eq=False)
class Way:
    """How one dot gets to the next set, where it is not simply straight and forward.

    ``points`` (counts + 1, 2) belong to a described way; ``facings`` are degrees, one a count (or
    one for all), 0 facing away from the press box, positive to the left.
    """

    kind: PathKind
    points: Ints | None = None
    facings: tuple[float, ...] = ()
    told: int | None = None
    """the counts that its words take, where it has words"""
    as_drawn: bool = False
    """its words leave part of it to the picture"""


@dataclass(frozen=True, eq=False)
class Move:
    """Everybody's way in ``counts`` from one set to the next, at ``tempo`` counts a minute.

    ``starts`` and ``ends`` have shape (n, 2). Rows not in ``ways`` go straight.
    """

    starts: Ints
    ends: Ints
    counts: int
    tempo: int | None = None
    ways: Mapping[int, Way] = field(default_factory=dict)

    def kind(self, row: int) -> PathKind:
        way = self.ways.get(row)
        return way.kind if way else PathKind.STRAIGHT

    def points(self, row: int) -> Ints | None:
        """The row's point at every count, for described ways."""
        way = self.ways.get(row)
        return way.points if way is not None and way.kind is PathKind.DESCRIBED else None


@dataclass(frozen=True, slots=True)
class Limit:
    """The largest step for an instrument, a heading (empty: any), from a tempo on."""

    largest_step: int
    instrument: str = ""
    heading: str = ""
    from_tempo: int = 0

    def holds_for(self, instrument: str, heading: str, tempo: int | None) -> bool:
        """Whether the limit speaks of such a step; an unknown tempo counts as the slowest."""
        return (
            self.instrument in ("", instrument)
            and self.heading in ("", heading)
            and (tempo or 0) >= self.from_tempo
        )


@dataclass(frozen=True)
class Limits:
    """What the checks warn about: the most specific limit, then ``largest_step``."""

    largest_step: int
    closest_gap: int
    special: tuple[Limit, ...] = ()

    def step(self, instrument: str, heading: str, tempo: int | None) -> int:
        """The largest step for it: an instrument's limit goes before one for all, then a
        heading's before one for any, then the highest tempo."""
        fitting = [s for s in self.special if s.holds_for(instrument, heading, tempo)]
        if not fitting:
            return self.largest_step
        best = max(fitting, key=lambda s: (s.instrument != "", s.heading != "", s.from_tempo))
        return best.largest_step


@dataclass(frozen=True, slots=True)
class Step:
    """The step one dot takes in a move, the one most over its limit.

    ``squared`` is the step's length squared in units; ``count`` the count it falls on, None for
    a straight way, whose steps are all alike. ``counts`` and ``tempo`` are the move's.
    """

    squared: Fraction
    heading: Heading
    limit: int
    counts: int
    tempo: int | None
    count: int | None = None

    @property
    def length(self) -> float:
        """Units."""
        return math.sqrt(self.squared)

    @property
    def inches(self) -> float:
        return self.length / UNITS_PER_INCH

    @property
    def to_5(self) -> float:
        """n of n-to-5: how many such steps make five yards; infinite for none at all."""
        return to_5(self.length)

    @property
    def per_second(self) -> float | None:
        """Inches a second; None where the tempo is not known."""
        return self.inches * self.tempo / 60 if self.tempo else None

    @property
    def distance(self) -> float:
        """8-to-5 steps from set to set of a straight way."""
        return self.length * self.counts / UNITS_PER_STEP

    @property
    def is_over(self) -> bool:
        slack = 0 if self.count is None else ROUNDING
        return self.squared > (self.limit + slack) ** 2

    @property
    def enough_counts(self) -> int:
        """The next whole fours of counts in which a straight way of this length keeps the limit."""
        length = self.squared * self.counts**2
        counts = max(math.isqrt(math.ceil(length / self.limit**2)), 1)
        while counts**2 * self.limit**2 < length:
            counts += 1
        return -(-counts // PHRASE) * PHRASE

    def to_5_in(self, counts: int) -> float:
        """n-to-5 of the same straight way in other counts."""
        return to_5(self.length * self.counts / counts)


def to_5(length: float) -> float:
    """n-to-5 of a step in units."""
    return 5 * UNITS_PER_YARD / length if length else math.inf


def heading(dx: float, dy: float, facing: float) -> Heading:
    """How a body facing that way (degrees, 0 away from the press box, positive left) goes.

    Up to 45 degrees off is forward, up to 45 degrees off the other way backward.
    """
    angle = math.radians(facing)
    ahead = -math.sin(angle) * dx + math.cos(angle) * dy
    half = math.hypot(dx, dy) * (math.sqrt(0.5) - 1e-9)
    if ahead >= half:
        return Heading.FORWARD
    return Heading.BACKWARD if -ahead >= half else Heading.SIDEWAYS


def large_steps(
    move: Move, instruments: tuple[str, ...], limits: Limits
) -> Iterator[tuple[int, Step]]:
    """(row, step) of every dot whose step is over its limit.

    An unknown way is at least as long as the straight one: what is over by that is told.
    """
    if move.counts < 1:
        return
    smallest = min([limits.largest_step, *(s.largest_step for s in limits.special)])
    lengths = np.hypot(*(move.ends - move.starts).astype(np.float64).T)
    near = set(np.flatnonzero(lengths > smallest * move.counts * (1 - 1e-9)).tolist())
    for row in sorted(near | move.ways.keys()):
        points = move.points(row)
        if points is not None:
            step = _described(move, row, points, instruments[row], limits)
        elif row in near:
            step = _straight(move, row, instruments[row], limits)
        else:
            continue
        if step is not None and step.is_over:
            yield row, step


def _straight(move: Move, row: int, instrument: str, limits: Limits) -> Step:
    dx, dy = (move.ends[row] - move.starts[row]).tolist()
    way = move.ways.get(row)
    faced = way.facings[0] if way and way.facings else None
    going = Heading.FORWARD if faced is None else heading(dx, dy, faced)
    limit = limits.step(instrument, going, move.tempo)
    squared = Fraction(dx * dx + dy * dy, move.counts**2)
    return Step(squared, going, limit, move.counts, move.tempo)


def _described(move: Move, row: int, points: Ints, instrument: str, limits: Limits) -> Step | None:
    """Of its steps, the one that is furthest over its limit (or nearest to it)."""
    facings = move.ways[row].facings
    best: tuple[Fraction, Step] | None = None
    for count, (dx, dy) in enumerate(np.diff(points, axis=0).tolist(), 1):
        faced = facings[min(count, len(facings)) - 1] if facings else None
        going = Heading.FORWARD if faced is None else heading(dx, dy, faced)
        limit = limits.step(instrument, going, move.tempo)
        squared = Fraction(dx * dx + dy * dy)
        share = squared / limit**2
        if best is None or share > best[0]:
            best = share, Step(squared, going, limit, move.counts, move.tempo, count)
    return best[1] if best else None
