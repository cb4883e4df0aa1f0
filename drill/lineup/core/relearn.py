"""What a member would have to relearn to march another spot, set by set.

A member knows the place they hold in every set of a show, and other places in the sets that they
have practised there. A set of the target is *new* when the target stands more than a quarter step
from every place known in that set. The weights are the band's common sense (common practice, no
source); distances are exact.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property

import numpy as np
import numpy.typing as npt

from drill.field.core.field import UNITS_PER_STEP
from drill.lineup.core.problem import MAX_RELEARNING

OTHER_RANK = 40
OTHER_PART = 30
OPPOSITE = 20
NOT_PASSED = 10
FARTHEST = MAX_RELEARNING - OTHER_RANK - OTHER_PART
UNKNOWN_DISTANCE = 120
UNITS_PER_POINT = UNITS_PER_STEP // 2
"""half an 8-to-5 step (1/32 inches) of distance is one point"""
SAME = UNITS_PER_STEP // 4
SHORT_MOVE = 2 * UNITS_PER_STEP
"""a shorter move has no direction worth the name"""

Floats = npt.NDArray[np.float64]
Bools = npt.NDArray[np.bool_]


@dataclass(frozen=True)
class ShowDrill:
    """One show as arrays. ``points``: shape (places, sets, 2), 1/32 inches, nan where a place is
    missing. ``codes``: (place, set index) -> the fundamentals of its described path."""

    places: tuple[str, ...]
    sets: tuple[str, ...]
    points: Floats
    codes: Mapping[tuple[str, int], frozenset[str]] = field(default_factory=dict)

    @cached_property
    def row_of(self) -> dict[str, int]:
        return {place: row for row, place in enumerate(self.places)}

    @cached_property
    def moves(self) -> Floats:
        """Shape (places, sets, 2): how each place gets to a set; nan for the first."""
        moves = np.full_like(self.points, np.nan)
        moves[:, 1:] = np.diff(self.points, axis=1)
        return moves


@dataclass(frozen=True, slots=True)
class Knowledge:
    """What a member knows of a show: the place they hold with its rank and part, and what they
    have practised elsewhere, place -> set indices. ``passed`` is None where a band keeps no
    record of who has passed which fundamental."""

    rank: str | None
    part: str | None
    place: str | None
    practised: Mapping[str, frozenset[int]] = field(default_factory=dict)
    passed: frozenset[str] | None = None


@dataclass(frozen=True, slots=True)
class Target:
    """The spot in question."""

    rank: str
    part: str
    place: str


@dataclass(frozen=True, slots=True)
class NewSet:
    """A set to learn. ``distance`` is to the ``nearest`` place known in it, None where none is;
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
    rows = np.array([drill.row_of.get(t.place, -1) for t in targets])
    gaps, done = _gaps(drill, knows, targets, rows)
    there = _there(drill, rows)
    new = there & ~done & ~(gaps <= SAME)
    opposite = new & _opposite(drill, knows, rows)
    lacking = [_lacking(drill, knows, target.place) for target in targets]
    points = _points(knows, targets, gaps, opposite, lacking)
    totals = there.sum(axis=1)
    costs = np.divide((points * new).sum(axis=1), totals, out=np.zeros(len(rows)), where=totals > 0)
    return [
        _load(drill, new[i], gaps[i], done[i] & there[i], opposite[i], lacking[i], costs[i], total)
        for i, total in enumerate(totals)
    ]


def study_order(drill: ShowDrill, knows: Knowledge, target: Target) -> tuple[NewSet, ...]:
    """The new sets, the hardest first: opposite ways, then fundamentals not passed, then sets in
    which no place is known, then the farthest; equal ones as the show goes."""
    rows = np.array([drill.row_of.get(target.place, -1)])
    gaps, done = _gaps(drill, knows, [target], rows)
    new = _there(drill, rows)[0] & ~done[0] & ~(gaps[0] <= SAME)
    opposite = _opposite(drill, knows, rows)[0]
    lacking = _lacking(drill, knows, target.place)
    nearest = _nearest(drill, knows, target.place)
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


def _gaps(
    drill: ShowDrill, knows: Knowledge, targets: Sequence[Target], rows: npt.NDArray[np.int_]
) -> tuple[Floats, Bools]:
    """Shape (targets, sets): the distance to the nearest known place, and what is practised."""
    sets = len(drill.sets)
    done = np.zeros((len(targets), sets), bool)
    for row, target in enumerate(targets):
        done[row, _listed(drill, knows, target.place)] = True
    gaps = np.full((len(targets), sets), np.nan)
    for _, seen in _known(drill, knows):
        gaps = np.fmin(gaps, np.hypot(*np.moveaxis(_of(drill.points, rows) - seen, -1, 0)))
    return gaps, done


def _listed(drill: ShowDrill, knows: Knowledge, place: str) -> list[int]:
    return sorted(i for i in knows.practised.get(place, ()) if i < len(drill.sets))


def _known(drill: ShowDrill, knows: Knowledge) -> list[tuple[str, Floats]]:
    """Each place known, with its points in the sets in which it is; nan in the others."""
    found = []
    if knows.place in drill.row_of:
        found.append((knows.place, drill.points[drill.row_of[knows.place]]))
    for place in sorted(knows.practised.keys() & drill.row_of.keys()):
        seen = np.full((len(drill.sets), 2), np.nan)
        listed = _listed(drill, knows, place)
        seen[listed] = drill.points[drill.row_of[place], listed]
        found.append((place, seen))
    return found


def _nearest(drill: ShowDrill, knows: Knowledge, place: str) -> dict[int, str]:
    """Set index -> the known place that stands nearest; '' where none is known."""
    found = dict.fromkeys(range(len(drill.sets)), "")
    if place not in drill.row_of:
        return found
    least = np.full(len(drill.sets), np.inf)
    for name, seen in _known(drill, knows):
        gaps = np.hypot(*(drill.points[drill.row_of[place]] - seen).T)
        for i in np.flatnonzero(gaps < least):
            found[int(i)], least[i] = name, gaps[i]
    return found


def _of(values: Floats, rows: npt.NDArray[np.int_]) -> Floats:
    """The rows of the targets; nan for places that the show does not have."""
    if not len(values):
        return np.full((len(rows), *values.shape[1:]), np.nan)
    found = values[rows]
    found[rows < 0] = np.nan
    return found


def _there(drill: ShowDrill, rows: npt.NDArray[np.int_]) -> Bools:
    """The sets in which a place stands; all of them where its coordinates are not known."""
    there = ~np.isnan(_of(drill.points, rows)[..., 0])
    there[~there.any(axis=1)] = True
    return there


def _opposite(drill: ShowDrill, knows: Knowledge, rows: npt.NDArray[np.int_]) -> Bools:
    """Where the target moves against the way of the place the member holds."""
    if knows.place not in drill.row_of:
        return np.zeros((len(rows), len(drill.sets)), bool)
    own, other = drill.moves[drill.row_of[knows.place]], _of(drill.moves, rows)
    lengths, length = np.hypot(*np.moveaxis(other, -1, 0)), np.hypot(*own.T)
    long = (lengths >= SHORT_MOVE) & (length >= SHORT_MOVE)
    return np.asarray(long & ((other * own).sum(axis=-1) < -0.5 * lengths * length), bool)


def _lacking(drill: ShowDrill, knows: Knowledge, place: str) -> dict[int, tuple[str, ...]]:
    """Set index -> fundamentals of the place's path that the member has not passed."""
    if knows.passed is None:
        return {}
    found = {i: codes - knows.passed for (p, i), codes in drill.codes.items() if p == place}
    return {i: tuple(sorted(codes)) for i, codes in found.items() if codes}


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


def _load(
    drill: ShowDrill,
    new: Bools,
    gaps: Floats,
    done: Bools,
    opposite: Bools,
    lacking: Mapping[int, tuple[str, ...]],
    cost: float,
    total: int,
) -> Load:
    far = np.where(new & ~np.isnan(gaps), gaps, -1.0)
    at = int(far.argmax()) if len(far) else 0
    largest = float(far[at]) if len(far) and far[at] >= 0 else None
    codes = {code for i, found in lacking.items() if new[i] for code in found}
    return Load(
        total=int(total),
        new=int(new.sum()),
        practised=int(done.sum()),
        distance=float(far[far > 0].sum()),
        largest=largest,
        largest_set="" if largest is None else drill.sets[at],
        opposite=int(opposite.sum()),
        lacking=tuple(sorted(codes)),
        cost=min(MAX_RELEARNING, round(float(cost))),
    )


def _elsewhere(rank: str | None, part: str | None, target: Target) -> int:
    return OTHER_RANK * (rank != target.rank) + OTHER_PART * (part != target.part)


def cost_without_drill(rank: str | None, part: str | None, target: Target) -> int:
    """The cost of a spot while no coordinates are known at all."""
    return min(MAX_RELEARNING, UNKNOWN_DISTANCE + _elsewhere(rank, part, target))


def farthest(found: Sequence[Load]) -> Load | None:
    """The load with the largest distance; the first of equals."""
    best = None
    for load in found:
        if load.largest is not None and (best is None or load.largest > (best.largest or 0)):
            best = load
    return best
