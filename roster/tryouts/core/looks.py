"""From marks to looks: one figure in percent for one evaluator, one candidate, one session.

Marks within a look are not independent (one evaluator, one minute), so they are weighed into one
figure first. What was not seen has no number and is never zero: a look is compared with the
averages of the criteria it has, so that missing an easy criterion costs nothing.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Ints = NDArray[np.intp]
Bools = NDArray[np.bool_]

FEWEST_TO_DROP_FROM = 4
"""looks of a candidate, from which the highest and the lowest may be left out"""


@dataclass(frozen=True, slots=True)
class Scale:
    """A criterion's lowest and highest mark and its weight among the others."""

    bottom: float
    top: float
    weight: float


@dataclass(frozen=True, slots=True, eq=False)
class Marks:
    """Numbers that were given, row by row: index of the look (n,), of the criterion (n,), and the
    mark (n,) on the criterion's scale. What is missing or not seen has no row."""

    look: Ints
    criterion: Ints
    value: Floats


@dataclass(frozen=True, slots=True, eq=False)
class Looks:
    """Looks, row by row: indices of candidate, evaluator and session (n,), and the figure (n,) in
    percent. The three counts say how many of each there are, with or without looks."""

    candidate: Ints
    evaluator: Ints
    session: Ints
    figure: Floats
    candidates: int
    evaluators: int
    sessions: int

    def only(self, kept: Bools) -> Looks:
        """The looks where ``kept`` (n,) is true."""
        return replace(
            self,
            candidate=self.candidate[kept],
            evaluator=self.evaluator[kept],
            session=self.session[kept],
            figure=self.figure[kept],
        )


def percents(scales: Sequence[Scale], marks: Marks) -> Floats:
    """Each mark as percent of its criterion's scale, (n,)."""
    bottom = np.array([s.bottom for s in scales])
    span = np.array([s.top - s.bottom for s in scales])
    percent: Floats = 100 * (marks.value - bottom[marks.criterion]) / span[marks.criterion]
    return percent


def look_figures(scales: Sequence[Scale], marks: Marks, looks: int) -> Floats:
    """Each look's figure (looks,) in percent; nan where nothing was marked.

    With every criterion marked it is the weighted mean of the percents. Otherwise it is the
    weighted mean of how far they lie from the averages of their criteria, put upon the weighted
    mean of all averages.
    """
    weight = np.array([s.weight for s in scales])
    percent = percents(scales, marks)
    given = np.bincount(marks.criterion, minlength=len(scales))
    total = np.bincount(marks.criterion, percent, minlength=len(scales))
    average = np.divide(total, given, out=np.zeros(len(scales)), where=given > 0)
    w = weight[marks.criterion]
    weights = np.bincount(marks.look, w, minlength=looks)
    above = np.bincount(marks.look, w * (percent - average[marks.criterion]), minlength=looks)
    marked = given > 0
    level = float(np.average(average[marked], weights=weight[marked])) if marked.any() else 0.0
    with np.errstate(invalid="ignore", divide="ignore"):
        figure: Floats = np.where(weights > 0, level + above / weights, np.nan)
    return figure


def without_extremes(looks: Looks) -> Bools:
    """Which looks stay (n,) where each candidate's highest and lowest are left out, for those with
    at least ``FEWEST_TO_DROP_FROM``."""
    order = np.lexsort((looks.figure, looks.candidate))
    of = looks.candidate[order]
    count = np.bincount(of, minlength=looks.candidates)
    first = np.r_[True, of[1:] != of[:-1]] if of.size else np.zeros(0, dtype=bool)
    last = np.r_[of[1:] != of[:-1], True] if of.size else np.zeros(0, dtype=bool)
    stays = np.ones(looks.figure.size, dtype=bool)
    stays[order] = ~((first | last) & (count[of] >= FEWEST_TO_DROP_FROM))
    return stays


def raw_figures(looks: Looks, *, drop: bool = False) -> Floats:
    """Each candidate's plain mean of looks (candidates,), nan without a look; ``drop`` leaves out
    the highest and the lowest."""
    if drop:
        looks = looks.only(without_extremes(looks))
    count = np.bincount(looks.candidate, minlength=looks.candidates)
    total = np.bincount(looks.candidate, looks.figure, minlength=looks.candidates)
    with np.errstate(invalid="ignore"):
        mean: Floats = np.where(count > 0, total / np.maximum(count, 1), np.nan)
    return mean
