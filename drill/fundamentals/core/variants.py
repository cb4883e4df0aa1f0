"""Moves to the other side, and back the way they came."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace

import numpy as np

from drill.fundamentals.core.definition import Counting, Direction, Foot, Fundamental, Pivot
from drill.fundamentals.core.engine import STEP, run
from drill.fundamentals.core.walked import Move, turned


def mirrored(moves: Iterable[Move]) -> tuple[Move, ...]:
    """The same moves for somebody on the other side: left is right."""
    return tuple(
        replace(
            move,
            fundamental=_mirrored(move.fundamental),
            heading=None if move.heading is None else -move.heading,
            along=None if move.along is None else -move.along,
        )
        for move in moves
    )


def _mirrored(it: Fundamental) -> Fundamental:
    return replace(
        it,
        path=tuple(None if v is None else (-v[0], v[1]) for v in it.path),
        turn=-it.turn,
        turn_after=tuple(-angle for angle in it.turn_after),
        pivot=it.pivot if it.pivot is Pivot.CENTRE else Pivot(Foot(it.pivot.value).other.value),
        horns=-it.horns,
        feet=-it.feet,
        lead=it.lead.other if it.lead else None,
    )


def reversed_moves(moves: Sequence[Move], *, step: float = STEP) -> tuple[Move, ...]:
    """The way back over the same points: begun with the facing of the end, it ends with the
    facing of the start. A set heading has no way back and must be left out."""
    return tuple(_reversed(move, step) for move in reversed(moves))


def _reversed(move: Move, step: float) -> Move:
    it = move.fundamental
    if move.along is not None:
        return replace(move, along=move.along + 180)
    if move.counts == 0:
        return replace(move, fundamental=replace(it, turn=-it.turn))
    size = move.step if move.step is not None else step
    there = run([move], step=step)
    whole = there.facing
    back = np.diff(there.points, axis=0)[::-1] / -size
    path = (turned(complex(x, y), -whole) for x, y in back)
    explicit = Fundamental(
        code=it.code,
        name=it.name,
        counts=move.counts,
        path=tuple((v.real, v.imag) for v in path),
        turn=-whole,
        turn_after=tuple(float(f) - whole for f in there.facings[-2::-1]),
        counting=Counting.INCLUSIVE,
        direction=Direction.FIRST,
        horns=it.horns,
        feet=it.feet,
    )
    return Move(explicit, move.counts, move.step)
