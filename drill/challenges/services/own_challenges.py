"""A member's own challenges, and the spots they may ask for."""

from __future__ import annotations

import datetime
from dataclasses import dataclass

from django.db.models import Q

from drill.challenges.enums import ChallengeState
from drill.challenges.models import Challenge, ChallengeRound
from drill.challenges.services.protection import protected
from drill.challenges.services.reach import (
    belonging_of,
    rule_of,
    why_not_challenge,
    why_not_spot,
)
from drill.challenges.services.spot_challenges import spot_order
from drill.challenges.wording import own_challenge_sentence
from roster.people.models import Member, Season
from roster.ranks import queries as rank_queries
from roster.ranks.models import Spot

# Members: what they may ask for, and their own


@dataclass(frozen=True)
class AskableSpot:
    """A spot of the member's part; ``protected`` says nothing about why."""

    spot: Spot
    own_rank: bool
    protected: bool


def askable(round_: ChallengeRound, member: Member) -> list[AskableSpot]:
    """The held spots that the member may think of by the season's rule, their own rank's first."""
    rule, mine = rule_of(round_.season), belonging_of(member)
    if mine is None or why_not_challenge(rule, member, mine):
        return []
    parts = member.qualifications.values("part")
    spots = [
        s
        for s in rank_queries.spots_with_holders(round_.season).filter(part__in=parts)
        if s.open_holdings  # type: ignore[attr-defined]
        and not why_not_spot(rule, member, mine, s)
    ]
    closed = protected(round_, spots)
    found = [AskableSpot(s, s.rank_id == mine.rank.pk, s.pk in closed) for s in spots]
    return sorted(found, key=lambda a: (not a.own_rank, spot_order(a.spot)))


@dataclass(frozen=True)
class OwnChallenge:
    """A challenge as its challenger or the spot's holder reads it."""

    challenge: Challenge
    challenges: bool
    sentence: str
    may_call_off: bool

    def asks_in(self, round_: ChallengeRound | None) -> bool:
        """Asked for in that round and not called off."""
        mine = self.challenges and self.challenge.state != ChallengeState.CALLED_OFF
        return mine and round_ is not None and self.challenge.round_id == round_.pk


def own_challenges(season: Season, member: Member, at: datetime.datetime) -> list[OwnChallenge]:
    """The member's challenges, the latest first: those they asked for and those for their spot."""
    rows = Challenge.objects.filter(Q(challenger=member) | Q(holder=member), round__season=season)
    rows = rows.select_related("round__season", "round__effective", "spot__rank", "spot__part")
    return [
        OwnChallenge(
            c,
            c.challenger_id == member.pk,
            own_challenge_sentence(c.state, c.outcome, c.challenger_id == member.pk),
            c.challenger_id == member.pk
            and c.state == ChallengeState.ASKED
            and at < c.round.held_at,
        )
        for c in rows.order_by("-round__held_at", "-pk")
    ]


@dataclass(frozen=True)
class SignUp:
    """Where a request made now goes: the round that takes it, and the round it is made for, which
    differs when it comes after the closing time and waits."""

    round: ChallengeRound | None
    seen: ChallengeRound | None

    @property
    def is_late(self) -> bool:
        return self.seen is not None and self.seen != self.round

    @property
    def is_open(self) -> bool:
        return self.round is not None and self.seen is not None


def sign_up(season: Season, at: datetime.datetime) -> SignUp:
    """The sign-up as it stands at a time."""
    rounds = list(
        ChallengeRound.objects.filter(season=season)
        .select_related("season", "effective")
        .order_by("closes_at", "pk")
    )
    closed = [r for r in rounds if r.closes_at <= at]
    last = closed[-1] if closed else None
    coming = next((r for r in rounds if at < r.closes_at), None)
    if coming is not None and coming.opens_at <= at:
        return SignUp(coming, coming)
    return SignUp(coming, last)
