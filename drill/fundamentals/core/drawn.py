"""Moves of which only the picture says where they end: a line that swings about its
end, a file where each steps where the one ahead stepped.

The moves before the first of them start at one coordinate, those after the last end at the next;
what lies between is joined, in an arc where the body turns on it. Inches and degrees.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from drill.fundamentals.core.engine import STEP, run
from drill.fundamentals.core.walked import Move, turned

Point = tuple[float, float]


def goes_as_drawn(moves: Sequence[Move]) -> bool:
    """Whether the words alone cannot tell where they end."""
    return any(move.fundamental.drawn for move in moves)


def joined(
    moves: Sequence[Move], *, start: Point, end: Point, facing: float, step: float = STEP
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Points and facings, one for the start and one after each count, from ``start`` to ``end``.

    At least one of the moves goes as drawn.
    """
    drawn = [n for n, move in enumerate(moves) if move.fundamental.drawn]
    first, last = drawn[0], drawn[-1]
    before = run(moves[:first], start=start, facing=facing, step=step)
    between = run(moves[first : last + 1], facing=before.facing, step=step)
    after = run(moves[last + 1 :], facing=between.facing, step=step)
    to = complex(*end) - complex(*after.end)
    turn = between.facing - before.facing if first == last else 0.0
    join = _join(complex(*before.end), to, turn, between.counts)
    points = [before.points[:-1], join[:-1], after.points + np.array([to.real, to.imag])]
    facings = [before.facings[:-1], between.facings[:-1], after.facings]
    return np.concatenate(points), np.concatenate(facings)


def _join(start: complex, end: complex, turn: float, counts: int) -> NDArray[np.float64]:
    """Evenly from one point to the other: about the one hinge from which the turn leads there, or
    straight where there is no turn."""
    shares = [k / counts for k in range(counts + 1)]
    if turn % 360:
        whole = turned(1 + 0j, turn)
        hinge = (end - whole * start) / (1 - whole)
        way = [hinge + turned(start - hinge, turn * share) for share in shares]
    else:
        way = [start + (end - start) * share for share in shares]
    return np.array([(at.real, at.imag) for at in way], dtype=np.float64)
