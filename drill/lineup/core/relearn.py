"""What a member would have to relearn to march another spot, set by set.

A member knows the dot they hold in every set of a show, and other dots in the sets that they
have practised there. A set of the target is *new* when the target stands more than a quarter step
from every dot known in that set. The weights are the band's common sense (common practice, no
source); distances are exact.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from drill.field.core.field import UNITS_PER_STEP
from drill.lineup.core.problem import MAX_RELEARNING
from drill.lineup.core.set_gaps import (
    Bools,
    Floats,
    Knowledge,
    ShowDrill,
    Target,
    dots_there,
    gaps_of,
    known_sets,
    lacking_words,
    opposite_moves,
)

OTHER_RANK = 40
OTHER_PART = 30
OPPOSITE = 20
NOT_PASSED = 10
FARTHEST = MAX_RELEARNING - OTHER_RANK - OTHER_PART
UNKNOWN_DISTANCE = 120
UNITS_PER_POINT = UNITS_PER_STEP // 2
"""half an 8-to-5 step (1/32 inches) of distance is one point"""
SAME = UNITS_PER_STEP // 4


@dataclass(frozen=True, slots=True)
class NewSet:
    """A set to learn. ``distance`` is to the ``nearest`` dot known in it, None where none is;
    ``lacking`` are fundamentals of its path that the member has not passed."""

    index: int
    label: str
    distance: float | None
    nearest: str
    opposite: bool
    lacking: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Load:
    """What a spot asks of a member in one show; distances in 1/32 inches over the new sets."""

    total: int
    new: int
    practised: int
    distance: float
    largest: float | None
    largest_set: str
    opposite: int
    lacking: tuple[str, ...]
    cost: int
    """0 is nothing, 255 the most"""


def loads(drill: ShowDrill, knows: Knowledge, targets: Sequence[Target]) -> list[Load]:
    """The load of each target, all at once."""
    if not targets:
        return []
    rows = np.array([drill.row_of.get(t.dot, -1) for t in targets])
    gaps, done = gaps_of(drill, knows, targets, rows)
    there = dots_there(drill, rows)
    new = there & ~done & ~(gaps <= SAME)
    opposite = new & opposite_moves(drill, knows, rows)
    lacking = [lacking_words(drill, knows, target.dot) for target in targets]
    points = _points(knows, targets, gaps, opposite, lacking)
    totals = there.sum(axis=1)
    costs = np.divide((points * new).sum(axis=1), totals, out=np.zeros(len(rows)), where=totals > 0)
    far = np.where(new & ~np.isnan(gaps), gaps, -1.0)
    figures = zip(
        totals.tolist(),
        new.sum(axis=1).tolist(),
        (done & there).sum(axis=1).tolist(),
        np.maximum(far, 0).sum(axis=1).tolist(),
        _largest(drill, far),
        opposite.sum(axis=1).tolist(),
        costs.tolist(),
        strict=True,
    )
    return [
        Load(
            total=total,
            new=many,
            practised=practised,
            distance=distance,
            largest=largest,
            largest_set=at,
            opposite=turned,
            lacking=_codes(new[i], lacking[i]),
            cost=min(MAX_RELEARNING, round(cost)),
        )
        for i, (total, many, practised, distance, (largest, at), turned, cost) in enumerate(figures)
    ]


def study_order(drill: ShowDrill, knows: Knowledge, target: Target) -> tuple[NewSet, ...]:
    """The new sets, the hardest first: opposite ways, then fundamentals not passed, then sets in
    which no dot is known, then the farthest; equal ones as the show goes."""
    rows = np.array([drill.row_of.get(target.dot, -1)])
    gaps, done = gaps_of(drill, knows, [target], rows)
    new = dots_there(drill, rows)[0] & ~done[0] & ~(gaps[0] <= SAME)
    opposite = opposite_moves(drill, knows, rows)[0]
    lacking = lacking_words(drill, knows, target.dot)
    nearest = _nearest(drill, knows, target.dot)
    found = [
        NewSet(
            int(i),
            drill.sets[i],
            None if np.isnan(gaps[0, i]) else float(gaps[0, i]),
            nearest[int(i)],
            bool(opposite[i]),
            lacking.get(int(i), ()),
        )
        for i in np.flatnonzero(new)
    ]
    return tuple(
        sorted(
            found,
            key=lambda s: (
                -s.opposite,
                -len(s.lacking),
                -np.inf if s.distance is None else -s.distance,
                s.index,
            ),
        )
    )


def _nearest(drill: ShowDrill, knows: Knowledge, dot: str) -> dict[int, str]:
    """Set index -> the known dot that stands nearest; '' where none is known."""
    found = dict.fromkeys(range(len(drill.sets)), "")
    if dot not in drill.row_of:
        return found
    least = np.full(len(drill.sets), np.inf)
    for name, seen in known_sets(drill, knows):
        gaps = np.hypot(*(drill.points[drill.row_of[dot]] - seen).T)
        for i in np.flatnonzero(gaps < least):
            found[int(i)], least[i] = name, gaps[i]
    return found


def _points(
    knows: Knowledge,
    targets: Sequence[Target],
    gaps: Floats,
    opposite: Bools,
    lacking: Sequence[Mapping[int, tuple[str, ...]]],
) -> Floats:
    points = np.where(
        np.isnan(gaps), UNKNOWN_DISTANCE, np.minimum(FARTHEST, gaps / UNITS_PER_POINT)
    )
    points += OPPOSITE * opposite
    for row, target in enumerate(targets):
        points[row] += OTHER_RANK * (knows.rank != target.rank)
        points[row] += OTHER_PART * (knows.part != target.part)
        for index, codes in lacking[row].items():
            points[row, index] += NOT_PASSED * len(codes)
    return points


def _largest(drill: ShowDrill, far: Floats) -> list[tuple[float | None, str]]:
    """The farthest new set of each target (``far`` is -1 where there is none)."""
    if not far.size:
        return [(None, "")] * len(far)
    most = far.max(axis=1).tolist()
    at = far.argmax(axis=1).tolist()
    return [
        (gap, drill.sets[i]) if gap >= 0 else (None, "") for gap, i in zip(most, at, strict=True)
    ]


def _codes(new: Bools, lacking: Mapping[int, tuple[str, ...]]) -> tuple[str, ...]:
    return tuple(sorted({code for i, found in lacking.items() if new[i] for code in found}))


def farthest(found: Sequence[Load]) -> Load | None:
    """The load with the largest distance; the first of equals."""
    best = None
    for load in found:
        if load.largest is not None and (best is None or load.largest > (best.largest or 0)):
            best = load
    return best
