"""Callbacks: the further looks that most lower the expected number of wrong decisions.

Another look moves what is believed of a candidate by a known amount on average; the chance that
the decision is then still wrong is a normal integral over where it may move, which is twice the T
of Owen 1956 (Annals of Mathematical Statistics 27:1075-1090). The number of looks for each is
chosen exactly, for a number of looks in all.
"""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass

import numpy as np
from scipy import special, stats

from roster.tryouts.core.looks import Floats

MOST_EACH = 4


@dataclass(frozen=True, slots=True)
class Callback:
    """Further looks of one candidate, by these evaluators; expected wrong decisions about them
    now and after."""

    candidate: int
    evaluators: tuple[int, ...]
    now: float
    after: float


def wrong_after(chance: Floats, spread: Floats, noise: float, looks: int) -> Floats:
    """Chance (n,) of deciding wrongly about each after so many further looks. ``chance``: to
    belong above the cut now; ``spread``: standard deviation of what is believed of the figure;
    ``noise``: that of one further look about the truth."""
    now: Floats = np.minimum(chance, 1 - chance)
    if looks == 0:
        return now
    with np.errstate(divide="ignore"):
        blur = noise / (spread * np.sqrt(looks))
    away = stats.norm.ppf(np.clip(chance, 1e-9, 1 - 1e-9))
    wrong = 2 * special.owens_t(away, blur)
    after: Floats = np.minimum(now, wrong)
    return after


def best_numbers(
    chance: Floats, spread: Floats, noise: float, looks: int, most: Sequence[int] = ()
) -> tuple[int, ...]:
    """How many further looks each candidate should have, ``looks`` in all at most and ``most`` of
    each, so that the expected number of wrong decisions is lowest; exact, by one candidate after
    the other."""
    gains = np.stack(
        [
            wrong_after(chance, spread, noise, 0) - wrong_after(chance, spread, noise, k)
            for k in range(MOST_EACH + 1)
        ]
    )
    best = np.zeros(looks + 1)
    taken = np.zeros((chance.size, looks + 1), dtype=int)
    for candidate in range(chance.size):
        options = np.full((MOST_EACH + 1, looks + 1), -np.inf)
        fewest = min(MOST_EACH, looks, most[candidate] if most else MOST_EACH)
        for k in range(fewest + 1):
            options[k, k:] = best[: looks + 1 - k] + gains[k, candidate]
        taken[candidate] = options.argmax(0)
        best = options.max(0)
    numbers, at = [], looks
    for candidate in reversed(range(chance.size)):
        numbers.append(int(taken[candidate, at]))
        at -= numbers[-1]
    return tuple(reversed(numbers))


def callbacks(
    chance: Floats,
    spread: Floats,
    noise: float,
    looks: int,
    *,
    may_see: Sequence[Collection[int]],
    load: Sequence[int],
) -> list[Callback]:
    """The list, the most gained first. ``may_see``: for each candidate the evaluators who may give
    a further look; ``load``: looks each evaluator has given, which is kept level."""
    numbers = best_numbers(chance, spread, noise, looks, [len(who) for who in may_see])
    given = list(load)
    found = []
    for candidate in np.argsort(-np.minimum(chance, 1 - chance), kind="stable"):
        chosen = sorted(may_see[candidate], key=lambda e: (given[e], e))[: numbers[candidate]]
        if not chosen:
            continue
        for evaluator in chosen:
            given[evaluator] += 1
        one = slice(candidate, candidate + 1)
        after = wrong_after(chance[one], spread[one], noise, len(chosen))[0]
        now = float(min(chance[candidate], 1 - chance[candidate]))
        found.append(Callback(int(candidate), tuple(chosen), now, float(after)))
    return sorted(found, key=lambda c: c.after - c.now)
