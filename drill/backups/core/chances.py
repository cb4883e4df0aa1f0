"""Each member's chance of being out of the next event, from how often they were out before.

A handful of occasions says little about one person and much about the band. So each member's share
is drawn towards the band's average, the more strongly the less the members differ beyond chance:
the posterior mean of a beta-binomial model whose prior is fitted to the band by moments.

Sources: Casella 1985, An introduction to empirical Bayes data analysis, The American Statistician
39:83-87; the moments for unequal numbers of occasions are those of Kleinman 1973, JASA 68:46-54.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

LARGEST = 0.9
"""no history makes an absence certain"""
LEAST_STRENGTH = 1.0
"""occasions that the band's average counts for, however much its members differ"""


@dataclass(frozen=True, slots=True)
class History:
    """On how many occasions somebody could have come, and how many of them they missed; a
    fraction where it is not known which."""

    occasions: int = 0
    missed: float = 0.0


@dataclass(frozen=True, slots=True)
class Prior:
    """The band: its average chance and for how many occasions of a member's own that counts;
    infinitely many where members do not differ beyond chance."""

    average: float
    strength: float

    def chance(self, history: History) -> float:
        """A member's chance of being out, between their own share and the band's average."""
        if math.isinf(self.strength):
            return min(self.average, LARGEST)
        missed = history.missed + self.strength * self.average
        return min(missed / (history.occasions + self.strength), LARGEST)


def band_prior(histories: Mapping[str, History], usual: float) -> Prior:
    """The prior that fits the band. ``usual`` is the chance before anything is known; it counts
    as one occasion more for everybody, so that the average is never nothing."""
    known = [history for _, history in sorted(histories.items()) if history.occasions > 0]
    occasions = sum(history.occasions for history in known)
    missed = sum(history.missed for history in known)
    average = (missed + usual * len(known)) / (occasions + len(known)) if known else usual
    return Prior(average, _strength(known, occasions, missed))


def chances(histories: Mapping[str, History], usual: float) -> dict[str, float]:
    """Member -> chance of being out of the next event."""
    prior = band_prior(histories, usual)
    return {member: prior.chance(history) for member, history in histories.items()}


def _strength(known: list[History], occasions: int, missed: float) -> float:
    """One over the correlation of a member's absences, less one.

    The weighted squares of the members' shares about the common one exceed what chance alone
    makes of them in proportion to the correlation.
    """
    freedom = len(known) - 1
    if freedom < 1 or not 0 < missed < occasions:
        return math.inf
    share = missed / occasions
    squares = sum(h.occasions * (h.missed / h.occasions - share) ** 2 for h in known)
    weight = occasions - sum(h.occasions**2 for h in known) / occasions - freedom
    excess = squares / (share * (1 - share)) - freedom
    if weight <= 0 or excess <= 0:
        return math.inf
    return max(weight / excess - 1, LEAST_STRENGTH)
