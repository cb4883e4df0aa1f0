"""Challenges: two sides marked alike, and who has the spot afterwards.

A side's figure is the weighted mean of its marks, each counted as its share of the highest mark
and written out of ten; every evaluator who marked both sides on everything counts alike. All of
it is exact: two sides are equal only when they are. That a tie leaves the holder, and that the
widest of several wins counts, are common practice, no source.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from decimal import Decimal
from enum import StrEnum
from fractions import Fraction

OUT_OF = 10


class Reason(StrEnum):
    """Why a challenge ends as it does."""

    HIGHER = "higher"
    LOWER = "lower"
    EQUAL = "equal"
    BEATEN = "beaten"
    """higher than the holder, but another challenger by more"""
    SHARED = "shared"
    """higher than the holder, but another challenger by just as much"""


@dataclass(frozen=True, slots=True)
class Criterion:
    """What is marked: the highest mark and how much it weighs."""

    key: int
    top: int
    weight: int


@dataclass(frozen=True, slots=True)
class Mark:
    """One evaluator's mark for one side on one criterion."""

    evaluator: int
    criterion: int
    challenger: bool
    value: Decimal


@dataclass(frozen=True, slots=True)
class Figures:
    """Both sides' figures over the evaluators who marked everything."""

    challenger: Fraction
    holder: Fraction
    evaluators: int

    @property
    def margin(self) -> Fraction:
        return self.challenger - self.holder


@dataclass(frozen=True, slots=True)
class Verdict:
    """How one challenge ends."""

    won: bool
    reason: Reason


def complete(criteria: Iterable[Criterion], marks: Iterable[Mark]) -> list[int]:
    """The evaluators who marked both sides on every criterion."""
    wanted = {(c.key, side) for c in criteria for side in (True, False)}
    given: dict[int, set[tuple[int, bool]]] = defaultdict(set)
    for mark in marks:
        given[mark.evaluator].add((mark.criterion, mark.challenger))
    return sorted(who for who, done in given.items() if wanted and wanted <= done)


def figures(criteria: Iterable[Criterion], marks: Iterable[Mark]) -> Figures | None:
    """Both figures; None as long as no evaluator marked everything."""
    known = {c.key: c for c in criteria}
    given = list(marks)
    counted = complete(known.values(), given)
    if not counted:
        return None
    weights = len(counted) * sum(c.weight for c in known.values())
    sums = {True: Fraction(0), False: Fraction(0)}
    for mark in given:
        criterion = known.get(mark.criterion)
        if criterion is not None and mark.evaluator in counted:
            share = Fraction(mark.value) / criterion.top
            sums[mark.challenger] += criterion.weight * share
    return Figures(sums[True] * OUT_OF / weights, sums[False] * OUT_OF / weights, len(counted))


def settle(challenges: Mapping[int, Figures]) -> dict[int, Verdict]:
    """How the challenges for one spot end: the widest win takes it; equally wide ones leave it."""
    best = max((f.margin for f in challenges.values()), default=Fraction(0))
    first = [key for key, f in challenges.items() if f.margin == best]
    return {key: _verdict(f, best, len(first) == 1) for key, f in challenges.items()}


def _verdict(mine: Figures, best: Fraction, alone: bool) -> Verdict:
    if mine.margin < 0:
        return Verdict(False, Reason.LOWER)
    if mine.margin == 0:
        return Verdict(False, Reason.EQUAL)
    if mine.margin < best:
        return Verdict(False, Reason.BEATEN)
    return Verdict(alone, Reason.HIGHER if alone else Reason.SHARED)
