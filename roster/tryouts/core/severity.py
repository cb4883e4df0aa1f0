"""Severity by least squares: figure = mean + candidate + evaluator + session + rest.

Offsets of evaluators sum to zero, and those of sessions, so a candidate's adjusted figure is what
an average evaluator would have given in an average session. Worked by hand in Montgomery's
incomplete block example (Design and Analysis of Experiments); see the tests.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy import stats

from roster.tryouts.core.linking import Linking, confounded, linking, reduced
from roster.tryouts.core.looks import Floats, Ints, Looks


class NotComparable(ValueError):
    """The looks fall into parts whose figures cannot be compared; ``linking`` says which."""

    def __init__(self, found: Linking) -> None:
        super().__init__(f"{len(found.parts)} parts")
        self.linking = found


@dataclass(frozen=True, slots=True, eq=False)
class Severity:
    """The fit. Figures in percent; (candidates,) arrays are nan for who has no look.

    ``figure`` and ``error``: adjusted figure and its standard error. ``offset`` and
    ``offset_error``: how far each evaluator marks above (+) or below (-) the others, nan where
    that cannot be told from the sessions; ``session_offset`` and ``session_error`` alike.
    ``rest`` (looks,): what remains of each look. ``spread``: standard deviation of the rest;
    ``freedom``: its degrees of freedom; without any, errors are nan.
    """

    looks: Looks
    figure: Floats
    error: Floats
    offset: Floats
    offset_error: Floats
    session_offset: Floats
    session_error: Floats
    rest: Floats
    spread: float
    freedom: int
    count: Ints
    shares: Floats
    covariance: Floats

    def half_width(self, level: float = 0.95) -> Floats:
        """Half the interval of each figure, by Student's t on the degrees of freedom."""
        return quantile(self.freedom, level) * self.error

    def half_width_of_offsets(self, level: float = 0.95) -> Floats:
        """Half the interval of each evaluator's offset."""
        return quantile(self.freedom, level) * self.offset_error

    def difference(self, a: int, b: int) -> tuple[float, float]:
        """How far candidate a lies above b, and the standard error of that."""
        apart = self.shares[a] - self.shares[b]
        own = 1 / self.count[a] + 1 / self.count[b]
        variance = self.spread**2 * own + apart @ self.covariance @ apart
        return float(self.figure[a] - self.figure[b]), float(np.sqrt(variance))


def quantile(freedom: int, level: float) -> float:
    """The two-sided t quantile; nan without degrees of freedom."""
    return float(stats.t.ppf(0.5 + level / 2, freedom)) if freedom > 0 else float("nan")


def fit_severity(looks: Looks) -> Severity:
    """Least squares; raises NotComparable where parts of the design are not linked."""
    found = linking(looks)
    if not found.is_whole:
        raise NotComparable(found)
    normal, shares = reduced(looks)
    count = np.bincount(looks.candidate, minlength=looks.candidates)
    inverse = np.linalg.pinv(normal, rcond=1e-10, hermitian=True)
    with np.errstate(invalid="ignore"):
        mean = np.bincount(looks.candidate, looks.figure, minlength=looks.candidates) / count
    offsets = inverse @ _right_side(looks, mean)
    evaluators, sessions = offsets[: looks.evaluators], offsets[looks.evaluators :]
    figure = np.where(count > 0, mean - shares @ offsets, np.nan)
    fitted = figure[looks.candidate] + evaluators[looks.evaluator] + sessions[looks.session]
    rest = looks.figure - fitted
    rank = int(np.sum(count > 0)) + int(np.linalg.matrix_rank(normal, tol=1e-8, hermitian=True))
    freedom = looks.figure.size - rank
    spread = float(np.sqrt(rest @ rest / freedom)) if freedom > 0 else float("nan")
    covariance = np.asarray(spread**2 * inverse, dtype=np.float64)
    with np.errstate(divide="ignore", invalid="ignore"):
        own = np.where(count > 0, spread**2 / count, np.nan)
    error = np.sqrt(own + np.einsum("ij,jk,ik->i", shares, covariance, shares, optimize=True))
    untold = confounded(looks)
    of_offsets = np.where(untold, np.nan, np.sqrt(np.diag(covariance)))
    offsets = np.where(untold, np.nan, offsets)
    return Severity(
        looks=looks,
        figure=figure,
        error=error,
        offset=offsets[: looks.evaluators],
        offset_error=of_offsets[: looks.evaluators],
        session_offset=offsets[looks.evaluators :],
        session_error=of_offsets[looks.evaluators :],
        rest=rest,
        spread=spread,
        freedom=freedom,
        count=count,
        shares=shares,
        covariance=covariance,
    )


def _right_side(looks: Looks, mean: Floats) -> Floats:
    """Sums by evaluator and by session of how far looks lie from their candidate's mean."""
    above = looks.figure - mean[looks.candidate]
    return np.concatenate(
        [
            np.bincount(looks.evaluator, above, minlength=looks.evaluators),
            np.bincount(looks.session, above, minlength=looks.sessions),
        ]
    )
