"""The challenges of a round, spot by spot, as staff see them: with names."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping
from dataclasses import dataclass

from drill.challenges.core import challenges as core
from drill.challenges.enums import ChallengeState
from drill.challenges.models import Challenge, ChallengeMark, ChallengeRound
from drill.challenges.services.challenge_tables import challenges, numbers
from drill.challenges.services.deciding import DECIDED, criteria_of, fingerprint, mark_of
from drill.challenges.services.protection import away_on
from drill.challenges.wording import challenge_sentence
from roster.ranks.models import Spot

ONE_SIDE = {True: "A", False: "B"}


# Staff: a round with names


@dataclass(frozen=True)
class ChallengeLine:
    """One challenge of a round as staff see it."""

    challenge: Challenge
    number: int
    marked: int
    """evaluators who marked everything"""
    begun: int
    """evaluators who marked only some of it"""
    sentence: str
    """figures and what follows from them; empty as long as there are none"""

    @property
    def challenger_side(self) -> str:
        return ONE_SIDE[self.challenge.challenger_is_a]

    @property
    def holder_side(self) -> str:
        return ONE_SIDE[not self.challenge.challenger_is_a]


@dataclass(frozen=True)
class SpotChallenges:
    """The challenges of a round for one spot, decided together."""

    lines: tuple[ChallengeLine, ...]
    holder_away: bool
    seen: str
    can_decide: bool

    @property
    def challenge(self) -> Challenge:
        return self.lines[0].challenge

    @property
    def asked(self) -> Challenge | None:
        """One that is still to be decided."""
        asked = (x.challenge for x in self.lines if x.challenge.state == ChallengeState.ASKED)
        return next(asked, None)

    @property
    def won(self) -> Challenge | None:
        won = (x.challenge for x in self.lines if x.challenge.state == ChallengeState.WON)
        return next(won, None)

    @property
    def undoable(self) -> Challenge | None:
        """A decided challenge whose decision can be taken back."""
        if any(x.challenge.applied_at for x in self.lines):
            return None
        return next((x.challenge for x in self.lines if x.challenge.state in DECIDED), None)


def spot_challenges(round_: ChallengeRound) -> list[SpotChallenges]:
    """A round's challenges by spot, in the spots' order (a fixed number of queries)."""
    rows = list(challenges(round_.season).filter(round=round_))
    number_of = numbers(rows)
    criteria = criteria_of(round_.season_id)
    marks: dict[int, list[ChallengeMark]] = defaultdict(list)
    for mark in ChallengeMark.objects.filter(challenge__round=round_):
        marks[mark.challenge_id].append(mark)
    away = away_on(round_, [c.holder for c in rows])
    by_spot: dict[int, list[Challenge]] = defaultdict(list)
    for c in rows:
        by_spot[c.spot_id].append(c)
    return [
        _of_spot(group, number_of, criteria, marks, away)
        for group in sorted(by_spot.values(), key=lambda g: spot_order(g[0].spot))
    ]


def spot_order(spot: Spot) -> tuple[int, str, int]:
    """Spots sort by rank, then number."""
    return spot.rank.order, spot.rank.label, spot.number


def _of_spot(
    group: list[Challenge],
    number_of: Mapping[int, int],
    criteria: list[core.Criterion],
    marks: Mapping[int, list[ChallengeMark]],
    away: set[int],
) -> SpotChallenges:
    given = {c.pk: [mark_of(m, c) for m in marks.get(c.pk, ())] for c in group}
    asked = [c for c in group if c.state == ChallengeState.ASKED]
    found = {c.pk: core.figures(criteria, given[c.pk]) for c in asked}
    ready = {pk: f for pk, f in found.items() if f is not None}
    can_decide = bool(asked) and len(ready) == len(asked)
    verdicts = core.settle(ready) if can_decide else {}
    lines = []
    for c in sorted(group, key=lambda c: number_of[c.pk]):
        counted = core.complete(criteria, given[c.pk])
        begun = {m.evaluator for m in given[c.pk]} - set(counted)
        reason = verdicts[c.pk].reason if c.pk in verdicts else None
        sentence = challenge_sentence(c.outcome) if c.outcome else ""
        if (figures := ready.get(c.pk)) is not None:
            sentence = challenge_sentence(
                {
                    "challenger": str(figures.challenger),
                    "holder": str(figures.holder),
                    "evaluators": figures.evaluators,
                    "reason": reason,
                }
            )
        lines.append(ChallengeLine(c, number_of[c.pk], len(counted), len(begun), sentence))
    holder_away = any(c.holder_id in away for c in asked)
    return SpotChallenges(tuple(lines), holder_away, fingerprint(ready), can_decide)
