"""How far evaluators agree where everybody marked everybody: intraclass correlations, Kendall's W.

Forms, equations and intervals: Shrout and Fleiss 1979, Psychological Bulletin 86:420-428. Reading:
Koo and Li 2016, Journal of Chiropractic Medicine 15:155-163, judged on the interval.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from enum import StrEnum

import numpy as np
from scipy import stats

from roster.tryouts.core.looks import Floats


class Form(StrEnum):
    """Which agreement: of one evaluator, or of the mean of the whole panel; evaluators new for
    each candidate, a sample of all evaluators, or just these."""

    ONE_WAY = "ICC(1,1)"
    AGREEMENT = "ICC(2,1)"
    CONSISTENCY = "ICC(3,1)"
    ONE_WAY_MEAN = "ICC(1,k)"
    AGREEMENT_MEAN = "ICC(2,k)"
    CONSISTENCY_MEAN = "ICC(3,k)"


class Reading(StrEnum):
    """Bands of Koo and Li: below 0.5, below 0.75, up to 0.9, above."""

    POOR = "poor"
    MODERATE = "moderate"
    GOOD = "good"
    EXCELLENT = "excellent"


@dataclass(frozen=True, slots=True)
class Agreement:
    """One form's value with its interval; all nan where no two figures differ."""

    form: Form
    value: float
    low: float
    high: float

    @property
    def readings(self) -> tuple[Reading, Reading] | None:
        """What the interval's two ends read as; None where there is no value."""
        if np.isnan(self.low) or np.isnan(self.high):
            return None
        return reading_of(self.low), reading_of(self.high)


@dataclass(frozen=True, slots=True)
class MeanSquares:
    """Of a table of n candidates by k evaluators, with the candidates' and rest's degrees."""

    candidates: float
    evaluators: float
    within: float
    rest: float
    n: int
    k: int


def mean_squares(table: Floats) -> MeanSquares:
    """The analysis of variance of a complete table (n, k); ValueError below 2 x 2 or with nan."""
    n, k = table.shape
    if n < 2 or k < 2 or np.isnan(table).any():
        raise ValueError("two candidates and two evaluators at least, every figure there")
    mean = table.mean()
    of_candidates = k * float(np.sum((table.mean(1) - mean) ** 2))
    of_evaluators = n * float(np.sum((table.mean(0) - mean) ** 2))
    total = float(np.sum((table - mean) ** 2))
    return MeanSquares(
        candidates=of_candidates / (n - 1),
        evaluators=of_evaluators / (k - 1),
        within=(total - of_candidates) / (n * (k - 1)),
        rest=max(0.0, total - of_candidates - of_evaluators) / ((n - 1) * (k - 1)),
        n=n,
        k=k,
    )


def agreements(table: Floats, level: float = 0.95) -> dict[Form, Agreement]:
    """All six forms of a complete table of candidates by evaluators (n, k)."""
    ms = mean_squares(table)
    if np.ptp(table) == 0:
        return {form: Agreement(form, np.nan, np.nan, np.nan) for form in Form}
    with np.errstate(divide="ignore", invalid="ignore"):
        one_way = _from_ratio(ms.candidates, ms.within, ms, ms.n * (ms.k - 1), level)
        fixed = _from_ratio(ms.candidates, ms.rest, ms, (ms.n - 1) * (ms.k - 1), level)
        sample = _of_a_sample(ms, level)
    found: dict[Form, Agreement] = {}
    for (one, mean), values in zip(
        (
            (Form.ONE_WAY, Form.ONE_WAY_MEAN),
            (Form.AGREEMENT, Form.AGREEMENT_MEAN),
            (Form.CONSISTENCY, Form.CONSISTENCY_MEAN),
        ),
        (one_way, sample, fixed),
        strict=True,
    ):
        found[one] = Agreement(one, *values)
        found[mean] = Agreement(mean, *(of_mean(v, ms.k) for v in values))
    return {form: found[form] for form in Form}


def of_mean(single: float, k: float) -> float:
    """What the mean of k looks would agree, by Spearman and Brown, from one look's figure; -inf
    down from where one look agrees so little that their mean would not differ at all."""
    whole = 1 + (k - 1) * single
    return -math.inf if whole <= 0 else k * single / whole


def reading_of(value: float) -> Reading:
    """The plain word for an agreement."""
    if value < 0.5:
        return Reading.POOR
    if value < 0.75:
        return Reading.MODERATE
    return Reading.GOOD if value <= 0.9 else Reading.EXCELLENT


def _from_ratio(
    candidates: float, rest: float, ms: MeanSquares, freedom: int, level: float
) -> tuple[float, float, float]:
    """Value and interval of one look's agreement from a ratio of mean squares."""
    tail = (1 - level) / 2
    ratio = np.float64(candidates) / np.float64(rest)
    low = ratio / stats.f.ppf(1 - tail, ms.n - 1, freedom)
    high = ratio * stats.f.ppf(1 - tail, freedom, ms.n - 1)
    value, lower, upper = (float(1 - ms.k / (f + ms.k - 1)) for f in (ratio, low, high))
    return value, lower, upper


def _of_a_sample(ms: MeanSquares, level: float) -> tuple[float, float, float]:
    """Agreement where evaluators are a sample; the interval by Satterthwaite's degrees."""
    n, k, b, j, e = ms.n, ms.k, np.float64(ms.candidates), ms.evaluators, ms.rest
    value = (b - e) / (b + (k - 1) * e + k * (j - e) / n)
    of_evaluators = k * value * j
    of_rest = (n * (1 + (k - 1) * value) - k * value) * e
    whole = (n - 1) * of_evaluators**2 + of_rest**2
    freedom = (k - 1) * (n - 1) * (of_evaluators + of_rest) ** 2 / whole if whole else k - 1
    tail = (1 - level) / 2
    below = stats.f.ppf(1 - tail, n - 1, freedom)
    above = stats.f.ppf(1 - tail, freedom, n - 1)
    spread = k * j + (k * n - k - n) * e
    low = n * (b - below * e) / (below * spread + n * b)
    high = n * (above * b - e) / (spread + n * above * b)
    return float(value), float(low), float(high)


@dataclass(frozen=True, slots=True)
class Concordance:
    """Kendall's W, corrected for ties, with its chi square, degrees of freedom and chance."""

    w: float
    chi_square: float
    freedom: int
    chance: float


def concordance(table: Floats) -> Concordance:
    """How alike evaluators rank, from a complete table of candidates by evaluators (n, k); nan
    where every evaluator gives everybody the same."""
    n, k = table.shape
    ranks = stats.rankdata(table, axis=0)
    sums = ranks.sum(1)
    spread = float(np.sum((sums - sums.mean()) ** 2))
    ties = sum(
        float(np.sum(counts**3 - counts))
        for column in ranks.T
        for counts in [np.unique(column, return_counts=True)[1].astype(float)]
    )
    most = (k**2 * (n**3 - n) - k * ties) / 12
    if most <= 0:
        return Concordance(np.nan, np.nan, n - 1, np.nan)
    w = spread / most
    chi_square = k * (n - 1) * w
    return Concordance(w, chi_square, n - 1, float(stats.chi2.sf(chi_square, n - 1)))
