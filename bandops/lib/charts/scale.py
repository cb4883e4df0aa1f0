"""From values to places on a strip, in percent of its width."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass

NICE = (1, 2, 2.5, 5, 10)
"""steps that people count in, times a power of ten"""
MOST_TICKS = 6


@dataclass(frozen=True, slots=True)
class Scale:
    """Values from ``low`` to ``high`` over the width; what lies outside stands at the edge."""

    low: float
    high: float

    def at(self, value: float) -> float:
        """The place of a value: 0 to 100, rounded to what an eye can tell apart."""
        share = (value - self.low) / (self.high - self.low)
        return round(100 * min(1.0, max(0.0, share)), 2)

    def ticks(self, most: int = MOST_TICKS) -> tuple[float, ...]:
        """Round values from end to end, at most so many."""
        step = nice_step((self.high - self.low) / max(1, most - 1))
        first = math.ceil(self.low / step - 1e-9)
        last = math.floor(self.high / step + 1e-9)
        return tuple(round(n * step, 10) + 0.0 for n in range(first, last + 1))


def nice_step(least: float) -> float:
    """The smallest step of ``NICE`` that is not below ``least``."""
    power = 10.0 ** math.floor(math.log10(least))
    return next(power * nice for nice in NICE if power * nice >= least * (1 - 1e-9))


def scale_for(values: Iterable[float], low: float = 0.0, least_high: float = 1.0) -> Scale:
    """From ``low`` to a round value at or above all values."""
    highest = max([*values, least_high])
    step = nice_step((highest - low) / (MOST_TICKS - 1))
    return Scale(low, low + step * math.ceil((highest - low) / step - 1e-9))
