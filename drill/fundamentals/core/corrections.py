"""What a marcher may have done instead of what was asked."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from enum import StrEnum
from functools import lru_cache

import numpy as np

from drill.fundamentals.core.definition import Fundamental
from drill.fundamentals.core.engine import FRONT, STEP, run
from drill.fundamentals.core.variants import mirrored
from drill.fundamentals.core.walked import Move, turned

NEAR = STEP / 4
"""inches each way that coordinates written to a quarter step may be off, start and end together"""
SMALLEST_STEP = 8.0
LARGEST_STEP = 45.0
MOST_COUNTS = 64
QUARTERS = (FRONT, 0.0, 90.0, -90.0)

Point = tuple[float, float]


class Change(StrEnum):
    """What a correction changes."""

    COUNTS = "counts"
    STEP = "step"
    EVERY_STEP = "every step"
    MOVE = "move"
    TOWARD = "toward"
    FACING = "facing"
    WAIT = "wait"


@dataclass(frozen=True)
class Correction:
    """One change: of the move ``index`` (counted from 0; None for the whole), from ``before`` to
    ``after``: counts, inches of a step, degrees, a fundamental's code, counts to wait at the end.
    ``left`` is how far it still ends from the coordinate, ``counts_off`` how many counts too many
    it then has."""

    kind: Change
    index: int | None
    before: float | str
    after: float | str
    moves: tuple[Move, ...]
    facing: float
    left: float
    counts_off: int

    @property
    def is_right(self) -> bool:
        return self.left <= NEAR and self.counts_off == 0


@dataclass(frozen=True)
class Task:
    """From where to where, in how many counts, with steps of what size."""

    start: Point
    target: Point
    counts: int
    step: float

    def end(self, moves: Iterable[Move], facing: float) -> complex:
        """Where moves end: moves compose, so each is run once and turned to its facing."""
        at = complex(*self.start)
        for move in moves:
            way, turn = _leg(replace(move, heading=None), self.step)
            facing = facing if move.heading is None else move.heading
            at += turned(way, facing) if move.along is None else way
            facing += turn
        return at

    def rest(self, moves: Sequence[Move], facing: float) -> tuple[float, int]:
        """Distance left and counts too many."""
        left = abs(self.end(moves, facing) - complex(*self.target))
        return left, sum(move.counts for move in moves) - self.counts


@lru_cache(maxsize=8192)
def _leg(move: Move, step: float) -> tuple[complex, float]:
    """A move done alone: how far it goes, how far it turns."""
    done = run([move], step=step)
    return complex(*done.end), done.facing


def corrections(
    moves: tuple[Move, ...],
    fundamentals: Mapping[str, Fundamental],
    facing: float,
    task: Task,
) -> Iterator[Correction]:
    """Changes of one thing each, whether they get there or only nearer."""
    yield from _other_counts(moves, facing, task)
    yield from _other_steps(moves, facing, task)
    yield from _other_moves(moves, fundamentals, facing, task)
    yield from _other_ways(moves, facing, task)
    yield from _other_facings(moves, facing, task)
    missing = -task.rest(moves, facing)[1]
    if missing > 0 and "mark-time" in fundamentals:
        waiting = (*moves, Move(fundamentals["mark-time"], missing))
        rest = task.rest(waiting, facing)
        yield Correction(Change.WAIT, None, 0, missing, waiting, facing, *rest)


def _other_counts(moves: tuple[Move, ...], facing: float, task: Task) -> Iterator[Correction]:
    for index, move in enumerate(moves):
        if not move.fundamental.any_counts:
            continue
        for counts in range(1, max(MOST_COUNTS, task.counts) + 1):
            if counts != move.counts:
                changed = _with(moves, index, replace(move, counts=counts))
                rest = task.rest(changed, facing)
                yield Correction(Change.COUNTS, index, move.counts, counts, changed, facing, *rest)


def _other_steps(moves: tuple[Move, ...], facing: float, task: Task) -> Iterator[Correction]:
    """The end moves in a straight line as a move's steps grow: the nearest point on it."""
    for index, move in enumerate(moves):
        before = move.step if move.step is not None else task.step
        size = _nearest_step(moves, [index], facing, task)
        if size is not None:
            changed = _with(moves, index, replace(move, step=size))
            rest = task.rest(changed, facing)
            yield Correction(Change.STEP, index, before, size, changed, facing, *rest)
    size = _nearest_step(moves, range(len(moves)), facing, task)
    if len(moves) > 1 and size is not None:
        changed = tuple(replace(m, step=size) if m.counts else m for m in moves)
        rest = task.rest(changed, facing)
        yield Correction(Change.EVERY_STEP, None, task.step, size, changed, facing, *rest)


def _nearest_step(
    moves: tuple[Move, ...], which: Sequence[int], facing: float, task: Task
) -> float | None:
    at = []
    for size in (0.0, 1.0):
        changed = (
            replace(m, step=size) if i in which and m.counts else m for i, m in enumerate(moves)
        )
        at.append(task.end(changed, facing))
    way = at[1] - at[0]
    length = abs(way) ** 2
    if length < 1e-9:
        return None
    ahead = (complex(*task.target) - at[0]) * way.conjugate()
    size = round(ahead.real / length, 2)
    return size if SMALLEST_STEP <= size <= LARGEST_STEP else None


def _other_moves(
    moves: tuple[Move, ...],
    fundamentals: Mapping[str, Fundamental],
    facing: float,
    task: Task,
) -> Iterator[Correction]:
    for index, move in enumerate(moves):
        if move.heading is not None or move.along is not None:
            continue
        for other in _kin(move, fundamentals):
            changed = _with(moves, index, replace(move, fundamental=other))
            rest = task.rest(changed, facing)
            yield Correction(
                Change.MOVE, index, move.fundamental.code, other.code, changed, facing, *rest
            )


def _other_ways(moves: tuple[Move, ...], facing: float, task: Task) -> Iterator[Correction]:
    """Toward another side of the field."""
    for index, move in enumerate(moves):
        if move.along is None:
            continue
        for other in QUARTERS:
            if other != move.along:
                changed = _with(moves, index, replace(move, along=other))
                rest = task.rest(changed, facing)
                yield Correction(Change.TOWARD, index, move.along, other, changed, facing, *rest)


def _kin(move: Move, fundamentals: Mapping[str, Fundamental]) -> Iterator[Fundamental]:
    """Turns for a turn; else what goes the other way with the same counts."""
    it = move.fundamental
    for other in fundamentals.values():
        if other.code == it.code or other.is_turn != it.is_turn or other.drawn:
            continue
        fits = other.any_counts or other.counts == move.counts
        if it.is_turn or (fits and _goes_the_other_way(move, other)):
            yield other


def _goes_the_other_way(move: Move, other: Fundamental) -> bool:
    """The mirror image in everything, or the same steps backwards."""
    it = move.fundamental
    there, back = run([move]), run([replace(move, fundamental=other)])
    if np.allclose(there.points, back.points):
        return False
    mirror = run(mirrored([move]))
    if np.allclose(back.points, mirror.points) and np.allclose(back.facings, mirror.facings):
        return (other.feet, other.horns) == (-it.feet, -it.horns)
    same_feet = (other.feet, other.horns) == (it.feet, it.horns)
    return same_feet and it.turn == other.turn and np.allclose(back.points, -there.points)


def _other_facings(moves: tuple[Move, ...], facing: float, task: Task) -> Iterator[Correction]:
    said = bool(moves) and moves[0].heading is not None
    now = moves[0].heading if said and moves[0].heading is not None else facing
    for other in QUARTERS:
        if other != now:
            changed = _with(moves, 0, replace(moves[0], heading=other)) if said else moves
            rest = task.rest(changed, other)
            yield Correction(Change.FACING, None, now, other, changed, other, *rest)


def _with(moves: tuple[Move, ...], index: int, move: Move) -> tuple[Move, ...]:
    return (*moves[:index], move, *moves[index + 1 :])
