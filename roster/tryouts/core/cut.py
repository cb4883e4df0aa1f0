"""Who belongs above the cut: figures drawn towards the mean, chances, and three groups.

Kelley 1947, Fundamentals of Statistics: an estimate drawn towards the mean by its reliability.
Chances are the share of seeded draws of everybody's true figure in which a candidate is selected.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

import numpy as np

from roster.tryouts.core.crossed import Crossed
from roster.tryouts.core.looks import Bools, Floats


class Group(StrEnum):
    """Where a candidate stands to the cut."""

    IN = "clear in"
    CLOSE = "too close to call"
    OUT = "clear out"


@dataclass(frozen=True, slots=True, eq=False)
class Believed:
    """What the looks make believe of each candidate's true figure, (candidates,): the mean, drawn
    towards everybody's, the standard deviation of their own (``own``), and how it leans on what
    is shared (candidates, k), whose covariance is (k, k). ``freedom`` of the rest's variance."""

    mean: Floats
    own: Floats
    lean: Floats
    covariance: Floats
    freedom: int

    @property
    def spread(self) -> Floats:
        """The standard deviation of each, (candidates,)."""
        shared = np.einsum("ij,jk,ik->i", self.lean, self.covariance, self.lean, optimize=True)
        total: Floats = np.sqrt(self.own**2 + shared)
        return total

    @property
    def apart(self) -> Floats:
        """The standard deviation of how far each lies from everybody's mean, (candidates,): what
        is unsure of all alike decides nothing."""
        lean = self.lean - self.lean.mean(0)
        shared = np.einsum("ij,jk,ik->i", lean, self.covariance, lean, optimize=True)
        total: Floats = np.sqrt(self.own**2 + shared)
        return total


def believed(fit: Crossed) -> Believed:
    """From a fit whose first factor is the candidates and whose first fixed effect the mean."""
    others = fit.lean.shape[1] - fit.fixed.size
    lean = fit.lean.copy()
    lean[:, others] += 1
    return Believed(
        mean=fit.fixed[0] + fit.effects[0],
        own=fit.own,
        lean=lean,
        covariance=fit.rest_covariance,
        freedom=fit.freedom,
    )


def draw(known: Believed, number: int, seed: int) -> Floats:
    """Seeded draws of everybody's true figure, (number, candidates). Each draw also varies the
    variance of the rest by its degrees of freedom."""
    rng = np.random.default_rng(seed)
    width = known.lean.shape[1]
    values, vectors = np.linalg.eigh(known.covariance)
    root = vectors * np.sqrt(np.maximum(values, 0))
    shared = rng.standard_normal((number, width)) @ root.T @ known.lean.T
    own = rng.standard_normal((number, known.mean.size)) * known.own
    wide = np.sqrt(known.freedom / rng.chisquare(known.freedom, (number, 1)))
    drawn: Floats = known.mean + wide * (shared + own)
    return drawn


def groups(chance: Floats, sure: float) -> list[Group]:
    """Clear in from a chance of ``sure`` on, clear out up to 1 - ``sure``."""
    return [
        Group.IN if p >= sure else Group.OUT if p <= round(1 - sure, 9) else Group.CLOSE
        for p in np.round(chance, 9)
    ]


def chances(selected: Bools) -> Floats:
    """Share of draws (draws, candidates) in which each is selected."""
    share: Floats = selected.mean(0)
    return share


@dataclass(frozen=True, slots=True)
class Kelley:
    """Kelley's estimate of a true figure with the standard errors of measurement, of the
    estimate, and of predicting another panel's figure."""

    estimate: float
    of_measurement: float
    of_estimate: float
    of_prediction: float


def kelley(figure: float, mean: float, spread: float, reliability: float) -> Kelley:
    """From a figure, the group's mean and standard deviation, and the figures' reliability."""
    return Kelley(
        estimate=reliability * figure + (1 - reliability) * mean,
        of_measurement=spread * float(np.sqrt(1 - reliability)),
        of_estimate=spread * float(np.sqrt(reliability * (1 - reliability))),
        of_prediction=spread * float(np.sqrt(1 - reliability**2)),
    )


@dataclass(frozen=True, slots=True)
class AtTheMean:
    """Where half are taken: share decided rightly, and share two such panels decide alike."""

    right: float
    alike: float


def at_the_mean(reliability: float) -> AtTheMean:
    """Sheppard 1899: normal figures cut at their mean."""
    return AtTheMean(
        right=0.5 + float(np.arcsin(np.sqrt(reliability)) / np.pi),
        alike=0.5 + float(np.arcsin(reliability) / np.pi),
    )


def expected_wrong(chance: Floats, selected: Bools) -> float:
    """How many of these decisions are expected to be wrong: those selected who do not belong
    above the cut, and those who do and are not selected."""
    return float(np.where(selected, 1 - chance, chance).sum())
