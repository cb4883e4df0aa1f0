"""Shares of variance between candidates, evaluators and the rest, and what more looks would give;
each evaluator's way of using the scale."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from roster.tryouts.core.crossed import Crossed, Factor, fit_crossed
from roster.tryouts.core.looks import Floats, Ints, Looks, Marks, Scale, percents
from roster.tryouts.core.severity import Severity

HOW_MANY_LOOKS = (1, 2, 3, 4, 6)


@dataclass(frozen=True, slots=True)
class Shares:
    """Variances in squared percent: true differences between candidates, severity of evaluators,
    and the rest."""

    candidates: float
    evaluators: float
    rest: float

    @property
    def total(self) -> float:
        return self.candidates + self.evaluators + self.rest

    def agreement(self, looks: float, *, adjusted: bool) -> float:
        """The share of candidates' true differences in the mean of so many looks by different
        evaluators; ``adjusted`` for severity, or not. nan where nothing differs."""
        noise = self.rest + (0.0 if adjusted else self.evaluators)
        whole = self.candidates + noise / looks
        return self.candidates / whole if whole > 0 else float("nan")


def fit_mixed(looks: Looks) -> Crossed:
    """Candidates and evaluators random, sessions fixed and measured from their average."""
    sessions = np.unique(looks.session)
    fixed = np.ones((looks.figure.size, max(1, sessions.size)))
    for column, session in enumerate(sessions[1:], start=1):
        inside = looks.session == session
        fixed[:, column] = inside.astype(float) - 1 / sessions.size
    return fit_crossed(
        looks.figure,
        fixed,
        [Factor(looks.candidate, looks.candidates), Factor(looks.evaluator, looks.evaluators)],
    )


def shares_of(fit: Crossed) -> Shares:
    """The variances of ``fit_mixed``."""
    return Shares(fit.spreads[0] ** 2, fit.spreads[1] ** 2, fit.rest**2)


@dataclass(frozen=True, slots=True)
class Habit:
    """How one evaluator uses the scale. ``spread``: standard deviation of their looks' figures
    over that of the same candidates' adjusted figures (below 1: closer together). ``halo``: mean
    correlation between criteria across their looks. ``drift``: percent an hour, with its standard
    error; nan where there is too little to tell."""

    looks: int
    spread: float
    halo: float
    drift: float
    drift_error: float


def habits(
    fit: Severity, scales: tuple[Scale, ...], marks: Marks, row_of: Ints, hours: Floats
) -> list[Habit]:
    """One for each evaluator. ``row_of`` (looks of ``marks``,) gives a look's row of the fit, -1
    without one; ``hours`` (rows,) when each look was made."""
    table = np.full((fit.looks.figure.size, len(scales)), np.nan)
    kept = row_of[marks.look] >= 0
    table[row_of[marks.look][kept], marks.criterion[kept]] = percents(scales, marks)[kept]
    found = []
    for evaluator in range(fit.looks.evaluators):
        own = fit.looks.evaluator == evaluator
        candidates = fit.looks.candidate[own]
        drift, error = _slope(hours[own], fit.rest[own])
        found.append(
            Habit(
                looks=int(own.sum()),
                spread=_ratio(fit.looks.figure[own], fit.figure[candidates]),
                halo=_halo(table[own]),
                drift=drift,
                drift_error=error,
            )
        )
    return found


def _ratio(given: Floats, adjusted: Floats) -> float:
    if given.size < 3 or np.std(adjusted) == 0:
        return float("nan")
    return float(np.std(given) / np.std(adjusted))


def _halo(table: Floats) -> float:
    """Over pairs of criteria marked together at least five times, neither of them constant."""
    found = []
    for a in range(table.shape[1]):
        for b in range(a):
            both = ~np.isnan(table[:, a]) & ~np.isnan(table[:, b])
            x, y = table[both, a], table[both, b]
            if x.size >= 5 and np.ptp(x) > 0 and np.ptp(y) > 0:
                found.append(float(np.corrcoef(x, y)[0, 1]))
    return float(np.mean(found)) if found else float("nan")


def _slope(hours: Floats, rest: Floats) -> tuple[float, float]:
    """What is left of looks against the hour, and the standard error of the slope."""
    if hours.size < 5 or np.ptp(hours) == 0:
        return float("nan"), float("nan")
    x = hours - hours.mean()
    slope = float(x @ rest / (x @ x))
    left = rest - rest.mean() - slope * x
    return slope, float(np.sqrt(left @ left / (hours.size - 2) / (x @ x)))
