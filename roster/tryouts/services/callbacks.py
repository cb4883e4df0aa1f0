"""Whom to call back: the further looks that most lower the number of wrong decisions."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from roster.tryouts.core.callbacks import callbacks
from roster.tryouts.core.cut import Group, expected_wrong
from roster.tryouts.models import Candidate, Panelist
from roster.tryouts.services.figures import Figures
from roster.tryouts.services.planning import recused_pairs
from roster.tryouts.wording import chance_words

MOST_LOOKS = 200


@dataclass(frozen=True)
class Call:
    """One candidate to be seen again; chances of deciding wrongly about them now and after."""

    candidate: Candidate
    panelists: tuple[Panelist, ...]
    now: float
    after: float

    @property
    def now_words(self) -> str:
        return chance_words(self.now)

    @property
    def after_words(self) -> str:
        return chance_words(self.after)


@dataclass(frozen=True)
class Calls:
    """A list of callbacks: ``looks`` that may be given in all, and how many wrong decisions are to
    be expected of everybody now, and after."""

    calls: tuple[Call, ...]
    looks: int
    now: float
    after: float


def callback_list(found: Figures, looks: int | None = None) -> Calls:
    """The best use of so many looks; by default two for each candidate too close to call."""
    close = sum(line.group is Group.CLOSE for line in found.lines)
    looks = min(MOST_LOOKS, 2 * close if looks is None else looks)
    chance, known, fit = found.chance, found.known, found.fit
    if chance is None or known is None or fit is None or not looks:
        return Calls((), looks, 0.0, 0.0)
    people, panelists = found.judged.candidates, found.judged.panelists
    at = {c.pk: i for i, c in enumerate(people)}
    e_at = {p.pk: i for i, p in enumerate(panelists)}
    seen = set(
        zip(
            found.judged.looks.candidate.tolist(),
            found.judged.looks.evaluator.tolist(),
            strict=True,
        )
    )
    seen |= {
        (at[c], e_at[e]) for c, e in recused_pairs(found.tryout, panelists) if c in at and e in e_at
    }
    may_see = [[e for e in range(len(panelists)) if (c, e) not in seen] for c in range(len(people))]
    open_now = np.array([c.withdrawn_at is None for c in people]) & (found.count > 0)
    load = np.bincount(found.judged.looks.evaluator, minlength=len(panelists)).tolist()
    calls = callbacks(
        np.where(open_now, chance, 0.0),
        known.apart,
        float(found.mixed.rest) if found.mixed is not None else fit.spread,
        looks,
        may_see=may_see,
        load=load,
    )
    now = expected_wrong(chance, chance >= 0.5)
    return Calls(
        tuple(
            Call(people[c.candidate], tuple(panelists[e] for e in c.evaluators), c.now, c.after)
            for c in calls
        ),
        looks,
        now,
        now - sum(c.now - c.after for c in calls),
    )
