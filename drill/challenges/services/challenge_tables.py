"""A round's challenges, and what evaluators see of them: numbers, no names."""

from __future__ import annotations

import datetime
import hmac
from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from decimal import Decimal
from hashlib import sha256

from django.conf import settings
from django.db.models import QuerySet

from bandops.lib.accounts.models import User
from drill.challenges.enums import ChallengeState, Side
from drill.challenges.models import Challenge, ChallengeCriterion, ChallengeMark
from drill.challenges.services.marks import may_mark
from roster.people.models import Season

SHOWN_DAYS = 7


def challenges(season: Season) -> QuerySet[Challenge]:
    """The season's challenges with what tables show."""
    return Challenge.objects.filter(round__season=season).select_related(
        "round__season",
        "round__effective",
        "spot__rank",
        "spot__part",
        "challenger__person",
        "holder__person",
        "decided_by",
    )


def numbers(rows: Iterable[Challenge]) -> dict[int, int]:
    """Challenge id -> its number in its round: 1, 2, … in an order that tells neither who asked
    first nor which spot it is about."""
    count: dict[int, int] = defaultdict(int)
    found = {}
    for challenge in sorted(rows, key=lambda c: _draw(c.pk)):
        count[challenge.round_id] += 1
        found[challenge.pk] = count[challenge.round_id]
    return found


def _draw(pk: int) -> str:
    return hmac.new(settings.SECRET_KEY.encode(), f"challenge {pk}".encode(), sha256).hexdigest()


# Evaluators: sides and parts, no names


@dataclass(frozen=True)
class BlindChallenge:
    """What an evaluator may know of a challenge, with their own marks by criterion and side."""

    pk: int
    number: int
    round: str
    part: str
    state: str
    open: bool
    marks: Mapping[tuple[int, str], Decimal]
    wanted: int

    @property
    def done(self) -> bool:
        return len(self.marks) == self.wanted


def blind_challenges(season: Season, user: User, at: datetime.datetime) -> list[BlindChallenge]:
    """Challenges an evaluator can mark now, and the week's that are over, round by round."""
    rows = list(challenges(season))
    number_of = numbers(rows)
    mine: dict[int, dict[tuple[int, str], Decimal]] = defaultdict(dict)
    for m in ChallengeMark.objects.filter(challenge__round__season=season, evaluator=user):
        mine[m.challenge_id][m.criterion_id, m.side] = m.value
    wanted = ChallengeCriterion.objects.filter(season=season).count() * len(Side)
    found = []
    for c in sorted(rows, key=lambda c: (c.round.held_at, number_of[c.pk])):
        open_ = may_mark(c, user, at)
        days = (at.astimezone(c.round.zone).date() - c.round.held_on).days
        own = user.pk in (c.challenger.person.user_id, c.holder.person.user_id)
        if open_ or (0 <= days < SHOWN_DAYS and not own):
            state = "" if c.state == ChallengeState.ASKED else _over(c)
            found.append(
                BlindChallenge(
                    c.pk, number_of[c.pk], str(c.round), str(c.spot.part), state, open_,
                    mine[c.pk], wanted,
                )
            )  # fmt: skip
    return found


def _over(challenge: Challenge) -> str:
    return "called off" if challenge.state == ChallengeState.CALLED_OFF else "decided"
