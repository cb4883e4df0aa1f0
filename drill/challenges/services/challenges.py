"""Challenges: asking for a spot, and calling one off."""

from __future__ import annotations

import datetime
import secrets

from bandops.lib.accounts.models import User
from bandops.lib.audit.recording import recorded
from bandops.lib.dates import moment_words, weekday_words
from bandops.lib.errors import Refused
from drill.challenges.enums import ChallengeState
from drill.challenges.models import Challenge, ChallengeRound
from drill.challenges.services.deciding import DECIDED
from drill.challenges.services.protection import away_on, protected
from drill.challenges.services.reach import (
    belonging_of,
    rule_of,
    why_not_challenge,
    why_not_spot,
)
from roster.people.enums import MemberStatus
from roster.people.models import Member
from roster.ranks import queries as rank_queries
from roster.ranks.models import Holding, Spot
from roster.ranks.services.spots import open_holding


def ask_for_spot(
    *,
    actor: User,
    round_: ChallengeRound,
    spot: Spot,
    challenger: Member,
    at: datetime.datetime,
    may_be_late: bool = False,
) -> Challenge:
    """Somebody asks for a spot, by the season's rule of who may challenge whom.

    After the closing time (at that minute sharp, too) the request waits for the next round,
    unless whoever asks may be late (the director).
    """
    with recorded(actor, "ask for spot"):
        round_ = _round_for(round_, at, may_be_late)
        Spot.objects.select_for_update().get(pk=spot.pk)
        Member.objects.select_for_update().get(pk=challenger.pk)
        holding = _refuse_unfit(round_, spot, challenger)
        _make_room(round_, challenger)
        return Challenge.objects.create(
            round=round_,
            spot=spot,
            challenger=challenger,
            holder=holding.member,
            challenger_is_a=secrets.choice((True, False)),
        )


def _round_for(seen: ChallengeRound, at: datetime.datetime, may_be_late: bool) -> ChallengeRound:
    """The round that takes a request made then by somebody who saw a round."""
    rounds = ChallengeRound.objects.select_for_update().filter(season=seen.season_id)
    in_order = list(rounds.order_by("closes_at", "pk"))
    now = next(r for r in in_order if r.pk == seen.pk)
    if at < now.opens_at:
        raise Refused(f"Sign-up for {now} opens {_moment(now, now.opens_at)}.")
    if at < now.closes_at or may_be_late:
        return now
    later = next((r for r in in_order if at < r.closes_at), None)
    if later is None:
        raise Refused(
            f"Sign-up for {now} closed {_moment(now, now.closes_at)}, and no later round is "
            "announced yet. Ask again when there is one."
        )
    return later


def _moment(round_: ChallengeRound, at: datetime.datetime) -> str:
    return moment_words(at, round_.zone)


def _refuse_unfit(round_: ChallengeRound, spot: Spot, challenger: Member) -> Holding:
    """Who may ask for what; the holding that is challenged."""
    if challenger.status != MemberStatus.ACTIVE:
        raise Refused(f"{challenger} is not active this season.")
    rule, mine = rule_of(round_.season), belonging_of(challenger)
    if (reason := why_not_challenge(rule, challenger, mine)) or mine is None:
        raise Refused(reason)
    if not challenger.qualifications.filter(part=spot.part_id).exists():
        raise Refused(f"{challenger} does not play {spot.part}, which {spot} needs.")
    seen = rank_queries.spots_with_holders(round_.season).get(pk=spot.pk)
    if reason := why_not_spot(rule, challenger, mine, seen):
        raise Refused(reason)
    if protected(round_, [seen]):
        raise Refused(f"{spot} is protected in {round_}.")
    if Challenge.objects.filter(round=round_, spot=spot, state__in=DECIDED).exists():
        raise Refused(f"{round_} is already decided for {spot}.")
    holding = open_holding(spot=spot)
    if holding is None:
        raise Refused(f"Nobody holds {spot}: there is nobody to challenge.")
    if away_on(round_, [challenger]):
        day = weekday_words(round_.held_on)
        raise Refused(f"{challenger} can't take part on {day}.")
    return holding


def _make_room(round_: ChallengeRound, challenger: Member) -> None:
    """One challenge a round; one that was called off unmarked makes room for another."""
    old = Challenge.objects.filter(round=round_, challenger=challenger).select_related("spot__rank")
    for challenge in old:
        if challenge.state != ChallengeState.CALLED_OFF:
            raise Refused(f"{challenger} already asked for {challenge.spot} in {round_}.")
        if challenge.marks.exists():
            raise Refused(f"The challenge of {challenger} in {round_} was called off.")
        challenge.delete()


def call_off(*, actor: User, challenge: Challenge) -> Challenge:
    """A challenge that is not decided does not take place."""
    with recorded(actor, "call off challenge"):
        challenge = _locked(challenge)
        if challenge.state != ChallengeState.ASKED:
            raise Refused(f"This challenge is over: {challenge.get_state_display()}.")
        challenge.state = ChallengeState.CALLED_OFF
        challenge.save()
    return challenge


def _locked(challenge: Challenge) -> Challenge:
    return Challenge.objects.select_for_update().get(pk=challenge.pk)
