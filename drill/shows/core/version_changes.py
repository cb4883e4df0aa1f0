"""Two versions of a drill beside one another: what a comparison says."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

from drill.field.core.field import UNITS_PER_STEP

ROUNDING = UNITS_PER_STEP // 4
"""a dot that differs by this much or less was rounded, not moved"""

Point = tuple[int, int]


@dataclass(frozen=True)
class Picture:
    """A set: its label, the counts that lead to it, and where each dot stands (units)."""

    label: str
    counts: int
    at: Mapping[str, Point]


@dataclass(frozen=True, slots=True)
class Pair:
    """A set of the one version and the same set of the other, by index; None: there is none."""

    before: int | None
    after: int | None


@dataclass(frozen=True, slots=True)
class DotMove:
    """A dot that stands elsewhere in a matched set; ``pair`` is the pair's index."""

    pair: int
    dot: str
    before: Point
    after: Point

    @property
    def distance(self) -> float:
        """Units."""
        return math.hypot(self.after[0] - self.before[0], self.after[1] - self.before[1])

    @property
    def is_rounding(self) -> bool:
        dx, dy = self.after[0] - self.before[0], self.after[1] - self.before[1]
        return dx * dx + dy * dy <= ROUNDING**2


@dataclass(frozen=True)
class Comparison:
    """The sets of both versions matched, and what differs in the matched ones.

    ``added`` and ``gone`` are (pair, dot): dots that stand in only one of the two sets.
    """

    before: tuple[Picture, ...]
    after: tuple[Picture, ...]
    pairs: tuple[Pair, ...]
    differing: tuple[DotMove, ...]
    added: tuple[tuple[int, str], ...]
    gone: tuple[tuple[int, str], ...]

    @property
    def moved(self) -> tuple[DotMove, ...]:
        """More than a quarter step, by set and then the furthest first."""
        real = [m for m in self.differing if not m.is_rounding]
        return tuple(sorted(real, key=lambda m: (m.pair, -m.distance, m.dot)))

    @property
    def rounded(self) -> tuple[DotMove, ...]:
        """A quarter step or less."""
        return tuple(m for m in self.differing if m.is_rounding)

    @property
    def inserted(self) -> tuple[int, ...]:
        """Sets of the later version alone, by index there."""
        return tuple(p.after for p in self.pairs if p.before is None and p.after is not None)

    @property
    def removed(self) -> tuple[int, ...]:
        """Sets of the earlier version alone, by index there."""
        return tuple(p.before for p in self.pairs if p.after is None and p.before is not None)

    @property
    def renumbered(self) -> tuple[tuple[int, int], ...]:
        """(before, after) of sets that are the same by another label."""
        return tuple((b, a) for b, a in self._both() if self.before[b].label != self.after[a].label)

    @property
    def recounted(self) -> tuple[tuple[int, int], ...]:
        """(before, after) of sets that other counts lead to."""
        return tuple(
            (b, a) for b, a in self._both() if self.before[b].counts != self.after[a].counts
        )

    @property
    def is_same(self) -> bool:
        quiet = not (self.differing or self.added or self.gone or self.inserted or self.removed)
        return quiet and not (self.renumbered or self.recounted)

    def label(self, pair: int) -> str:
        """The matched set's label, in the later version where it has one."""
        found = self.pairs[pair]
        if found.after is not None:
            return self.after[found.after].label
        return self.before[found.before].label if found.before is not None else ""

    def _both(self) -> list[tuple[int, int]]:
        return [
            (p.before, p.after) for p in self.pairs if p.before is not None and p.after is not None
        ]
