"""A move's words against the next coordinate, and the one change that would make them meet.

Distances in inches, in the field's frame: x to side 2, y away from the press box.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from drill.fundamentals.core.corrections import NEAR, Change, Correction, Point, Task, corrections
from drill.fundamentals.core.definition import Fundamental
from drill.fundamentals.core.drawn import goes_as_drawn
from drill.fundamentals.core.engine import FRONT, STEP, run
from drill.fundamentals.core.walked import Move, Run

_ORDER = tuple(Change)


@dataclass(frozen=True)
class Comparison:
    """Words run from a set's coordinate and compared with the next one.

    ``across`` and ``depth``: how far the coordinate is from where the words end, inches;
    ``counts_off``: counts of the words beyond those of the set. Where a move goes ``as_drawn``
    the words end wherever the coordinate is.
    """

    run: Run
    across: float
    depth: float
    counts_off: int
    correction: Correction | None
    as_drawn: bool = False

    @property
    def distance(self) -> float:
        return math.hypot(self.across, self.depth)

    @property
    def meets(self) -> bool:
        """Within what rounding to quarter steps explains, and the counts add up."""
        return max(abs(self.across), abs(self.depth)) <= NEAR and self.counts_off == 0


def compare(
    moves: Sequence[Move],
    fundamentals: Mapping[str, Fundamental],
    *,
    start: Point,
    target: Point,
    counts: int,
    facing: float = FRONT,
    step: float = STEP,
) -> Comparison:
    """Run the moves from ``start`` and compare with ``target`` (inches) and the set's counts.

    A correction is looked for only where they do not meet; it is the single change of counts,
    step size, direction or facing that leaves the least.
    """
    done = run(moves, start=start, facing=facing, step=step)
    if goes_as_drawn(moves):
        return Comparison(done, 0.0, 0.0, done.counts - counts, None, as_drawn=True)
    plain = Comparison(
        done,
        target[0] - done.end[0],
        target[1] - done.end[1],
        done.counts - counts,
        None,
    )
    if plain.meets:
        return plain
    task = Task(start, target, counts, step)
    found = sorted(corrections(tuple(moves), fundamentals, facing, task), key=_rank)
    now = plain.distance + step * abs(plain.counts_off)
    if not found or _cost(found[0]) >= now - 1:
        return plain
    return replace(plain, correction=found[0])


def _cost(it: Correction) -> float:
    """Inches left; a count that does not add up weighs a step."""
    return 0.0 if it.is_right else it.left + STEP * abs(it.counts_off)


def _rank(it: Correction) -> tuple[float, float, int, float]:
    size = 0.0
    if not isinstance(it.before, str) and not isinstance(it.after, str):
        size = abs(it.after - it.before)
    return (round(_cost(it), 1), _ORDER.index(it.kind), it.index or 0, size)
