"""Contests: asking for a spot, and calling one off."""

from __future__ import annotations

import datetime
import secrets

from django.utils.dateformat import format as say

from bandops.lib.accounts.models import User
from bandops.lib.audit.recording import recorded
from bandops.lib.errors import Refused
from drill.challenges.enums import ContestState
from drill.challenges.models import Contest, ContestRound
from drill.challenges.services.deciding import DECIDED
from drill.challenges.services.protection import away_on, protected
from roster.people.enums import MemberStatus
from roster.people.models import Member
from roster.ranks import queries as rank_queries
from roster.ranks.models import AlternatePlace, Holding, Spot
from roster.ranks.services.spots import open_holding


def ask_for_spot(
    *,
    actor: User,
    round_: ContestRound,
    spot: Spot,
    challenger: Member,
    at: datetime.datetime,
    may_be_late: bool = False,
) -> Contest:
    """An alternate asks for a spot. After the closing time (at that minute sharp, too) the request
    waits for the next round, unless whoever asks may be late (the director)."""
    with recorded(actor, "ask for spot"):
        round_ = _round_for(round_, at, may_be_late)
        Spot.objects.select_for_update().get(pk=spot.pk)
        Member.objects.select_for_update().get(pk=challenger.pk)
        holding = _refuse_unfit(round_, spot, challenger)
        _make_room(round_, challenger)
        return Contest.objects.create(
            round=round_,
            spot=spot,
            challenger=challenger,
            holder=holding.member,
            challenger_is_a=secrets.choice((True, False)),
        )


def _round_for(seen: ContestRound, at: datetime.datetime, may_be_late: bool) -> ContestRound:
    """The round that takes a request made then by somebody who saw a round."""
    rounds = ContestRound.objects.select_for_update().filter(season=seen.season_id)
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


def _moment(round_: ContestRound, at: datetime.datetime) -> str:
    return say(at.astimezone(round_.zone), "D j M, g:i A")


def _refuse_unfit(round_: ContestRound, spot: Spot, challenger: Member) -> Holding:
    """Who may ask for what; the holding that is contested."""
    if challenger.status != MemberStatus.ACTIVE:
        raise Refused(f"{challenger} is not active this season.")
    if open_holding(member=challenger) is not None:
        raise Refused(f"{challenger} holds a spot: contests are for alternates.")
    if not AlternatePlace.objects.filter(member=challenger).exists():
        raise Refused(f"{challenger} is no alternate.")
    if not challenger.qualifications.filter(part=spot.part_id).exists():
        raise Refused(f"{challenger} does not play {spot.part}, which {spot} needs.")
    seen = rank_queries.spots_with_holders(round_.season).get(pk=spot.pk)
    if protected(round_, [seen]):
        raise Refused(f"{spot} is protected in {round_}.")
    if Contest.objects.filter(round=round_, spot=spot, state__in=DECIDED).exists():
        raise Refused(f"{round_} is decided for {spot} already.")
    holding = open_holding(spot=spot)
    if holding is None:
        raise Refused(f"Nobody holds {spot}: there is nobody to contest it with.")
    if away_on(round_, [challenger]):
        day = say(round_.held_on, "D j M")
        raise Refused(f"As things stand {challenger} cannot take part on {day}.")
    return holding


def _make_room(round_: ContestRound, challenger: Member) -> None:
    """One contest a round; one that was called off unmarked makes room for another."""
    old = Contest.objects.filter(round=round_, challenger=challenger).select_related("spot__rank")
    for contest in old:
        if contest.state != ContestState.CALLED_OFF:
            raise Refused(f"{challenger} asked for {contest.spot} in {round_} already.")
        if contest.marks.exists():
            raise Refused(f"The contest of {challenger} in {round_} was called off.")
        contest.delete()


def call_off(*, actor: User, contest: Contest) -> Contest:
    """A contest that is not decided does not take place."""
    with recorded(actor, "call off contest"):
        contest = _locked(contest)
        if contest.state != ContestState.ASKED:
            raise Refused(f"This contest is over: {contest.get_state_display()}.")
        contest.state = ContestState.CALLED_OFF
        contest.save()
    return contest


def _locked(contest: Contest) -> Contest:
    return Contest.objects.select_for_update().get(pk=contest.pk)
