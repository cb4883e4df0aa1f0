"""What spots ask of members, for thousands of pairs at once: ``loads`` without its words."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from drill.lineup.core.lessons import Ints
from drill.lineup.core.problem import MAX_RELEARNING
from drill.lineup.core.relearn import (
    FARTHEST,
    NOT_PASSED,
    OPPOSITE,
    OTHER_PART,
    OTHER_RANK,
    SAME,
    UNITS_PER_POINT,
    UNKNOWN_DISTANCE,
)
from drill.lineup.core.set_gaps import (
    SHORT_MOVE,
    Bools,
    Floats,
    Knowledge,
    ShowDrill,
    Target,
    known_sets,
)


@dataclass(frozen=True)
class Pairs:
    """Pairs of a member and a target, by their numbers in two lists; sorted by member."""

    knows: Sequence[Knowledge]
    targets: Sequence[Target]
    member: Ints
    target: Ints

    def elsewhere(self) -> Ints:
        """What each pair costs for another rank or part."""
        rank = _differs(self, [k.rank for k in self.knows], [t.rank for t in self.targets])
        part = _differs(self, [k.part for k in self.knows], [t.part for t in self.targets])
        return OTHER_RANK * rank + OTHER_PART * part


def costs_of(drill: ShowDrill, pairs: Pairs) -> tuple[Ints, Bools]:
    """The cost of each pair in one show, as ``loads`` gives it, and whether the show has sets."""
    sets = len(drill.sets)
    if not sets:
        return np.zeros(len(pairs.member), np.int64), np.zeros(len(pairs.member), np.bool_)
    to = np.array([drill.row_of.get(t.dot, -1) for t in pairs.targets], np.int64)[pairs.target]
    own = np.array([drill.row_of.get(k.dot or "", -1) for k in pairs.knows], np.int64)
    own = own[pairs.member]
    points = np.append(drill.points, np.full((1, sets, 2), np.nan), axis=0)
    there = ~np.isnan(points[to, :, 0])
    there[~there.any(axis=1)] = True
    gaps, done = np.hypot(*np.moveaxis(points[to] - points[own], -1, 0)), np.zeros_like(there)
    _practised(drill, pairs, points[to], gaps, done)
    new = there & ~done & ~(gaps <= SAME)
    asked = np.where(np.isnan(gaps), UNKNOWN_DISTANCE, np.minimum(FARTHEST, gaps / UNITS_PER_POINT))
    asked += OPPOSITE * _opposite(drill, own, to)
    asked += pairs.elsewhere()[:, None] + NOT_PASSED * _lacking(drill, pairs)
    cost = (asked * new).sum(axis=1) / there.sum(axis=1)
    return np.minimum(MAX_RELEARNING, np.rint(cost)).astype(np.int64), there.any(axis=1)


def _differs(pairs: Pairs, of: Sequence[str | None], to: Sequence[str]) -> Bools:
    number = {key: n for n, key in enumerate(sorted(set(to)))}
    theirs = np.array([number.get(key or "", -1) for key in of], np.int64)
    wanted = np.array([number[key] for key in to], np.int64)
    differs: Bools = theirs[pairs.member] != wanted[pairs.target]
    return differs


def _practised(drill: ShowDrill, pairs: Pairs, points: Floats, gaps: Floats, done: Bools) -> None:
    """Put in what those who have practised know besides the dot they hold."""
    start = np.searchsorted(pairs.member, np.arange(len(pairs.knows) + 1))
    for number, knows in enumerate(pairs.knows):
        if not knows.practised:
            continue
        here = slice(int(start[number]), int(start[number + 1]))
        for dot, seen in known_sets(drill, knows):
            if dot != knows.dot or dot in knows.practised:
                far = np.hypot(*np.moveaxis(points[here] - seen, -1, 0))
                gaps[here] = np.fmin(gaps[here], far)
        for pair in range(here.start, here.stop):
            listed = knows.practised.get(pairs.targets[pairs.target[pair]].dot, ())
            done[pair, [i for i in listed if i < len(drill.sets)]] = True


def _opposite(drill: ShowDrill, own: Ints, to: Ints) -> Bools:
    moves = np.append(drill.moves, np.full((1, len(drill.sets), 2), np.nan), axis=0)
    lengths = np.hypot(moves[..., 0], moves[..., 1])
    long = lengths >= SHORT_MOVE
    along = (moves[to] * moves[own]).sum(axis=-1)
    opposite: Bools = long[to] & long[own] & (along < -0.5 * lengths[to] * lengths[own])
    return opposite


def _lacking(drill: ShowDrill, pairs: Pairs) -> Ints:
    """How many fundamentals of each set's path the member has not passed."""
    shape = (len(pairs.member), len(drill.sets))
    codes = sorted({code for found in drill.codes.values() for code in found})
    if not codes or all(k.passed is None for k in pairs.knows):
        return np.zeros(shape, np.int64)
    number = {code: n for n, code in enumerate(codes)}
    rows = {t.dot: n for n, t in enumerate(pairs.targets)}
    asked = np.zeros((len(pairs.targets), shape[1], len(codes)), np.int8)
    for (dot, index), found in drill.codes.items():
        if dot in rows:
            asked[rows[dot], index, [number[code] for code in found]] = 1
    same = np.array([rows[t.dot] for t in pairs.targets], np.int64)
    lacks = np.zeros((len(pairs.knows), len(codes)), np.int8)
    for member, knows in enumerate(pairs.knows):
        if knows.passed is not None:
            lacks[member] = [code not in knows.passed for code in codes]
    both = asked[same[pairs.target]] & lacks[pairs.member][:, None, :]
    counted: Ints = both.sum(axis=2, dtype=np.int64)
    return counted
