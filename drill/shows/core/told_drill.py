"""A drill as it is told to the checks: its sets, counts and dots."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from drill.shows.core.moves import Ints, Move, PathKind, Way

Bools = NDArray[np.bool_]


@dataclass(frozen=True)
class SetHead:
    """A set's label, the counts that lead to it, and their tempo."""

    label: str
    counts: int
    tempo: int | None = None


@dataclass(frozen=True, eq=False)
class Drill:
    """Sets in order, dots, and where each stands: ``where`` (sets, dots, 2) in units, good
    where ``known`` (sets, dots). ``ways`` says how (set, dot) is reached if not straight."""

    sets: tuple[SetHead, ...]
    dots: tuple[str, ...]
    instruments: tuple[str, ...]
    where: Ints
    known: Bools
    ways: Mapping[tuple[int, int], Way] = field(default_factory=dict)

    def move(self, to: int) -> Move:
        """The move that leads to a set (not the first); rows are dots."""
        head = self.sets[to]
        ways = {
            dot: way if fits(way, head.counts) else Way(PathKind.UNKNOWN, told=told_counts(way))
            for (at, dot), way in self.ways.items()
            if at == to
        }
        return Move(self.where[to - 1], self.where[to], head.counts, head.tempo, ways)


def fits(way: Way, counts: int) -> bool:
    """Whether a way takes the counts of its move, or does not say."""
    told = told_counts(way)
    return told is None or (counts > 0 and told == counts)


def told_counts(way: Way) -> int | None:
    """The counts that a way says it takes."""
    return way.told if way.points is None else len(way.points) - 1
