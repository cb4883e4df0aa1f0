"""Contests: asking for a spot, deciding, putting a win into effect.

A win is decided at once and put into effect when no other performance lies before the round's
event: from then on the roster shows the new holder, and by date the holder's days before that
event stay theirs. Lineups that are past keep their holders; published ones to come are stale.
"""

from __future__ import annotations

import datetime
import secrets
from dataclasses import dataclass

from django.utils import timezone
from django.utils.dateformat import format as say

from bandops.lib.accounts.models import User
from bandops.lib.audit.recording import recorded
from bandops.lib.errors import Overtaken, Refused
from drill.challenges.core import contests as core
from drill.challenges.enums import ContestState
from drill.challenges.models import Contest, ContestCriterion, ContestMark, ContestRound
from drill.challenges.services.protection import away_on, protected
from drill.events.enums import EventKind
from drill.events.models import Event
from drill.lineup.enums import LineupState
from drill.lineup.models import Lineup
from roster.people.enums import MemberStatus
from roster.people.models import Member
from roster.ranks import queries as rank_queries
from roster.ranks.models import AlternatePlace, Holding, Spot
from roster.ranks.services import change_holder, open_holding

DECIDED = (ContestState.KEPT, ContestState.WON)


@dataclass(frozen=True)
class InEffect:
    """A win that counts now: from when, and the published lineups to come that it makes stale."""

    holding: Holding
    stale: tuple[Lineup, ...]


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


def criteria_of(season_id: int) -> list[core.Criterion]:
    """What a season's contests are marked on."""
    rows = ContestCriterion.objects.filter(season=season_id)
    return [core.Criterion(c.pk, c.top, c.weight) for c in rows]


def mark_of(row: ContestMark, contest: Contest) -> core.Mark:
    """A blind mark with its side named: challenger or holder."""
    challenger = (row.side == "A") == contest.challenger_is_a
    return core.Mark(row.evaluator_id, row.criterion_id, challenger, row.value)


def fingerprint(found: dict[int, core.Figures]) -> str:
    """The figures somebody looked at before deciding."""
    return ";".join(
        f"{pk}:{f.challenger}:{f.holder}:{f.evaluators}" for pk, f in sorted(found.items())
    )


def decide_spot(*, actor: User, contest: Contest, seen: str) -> list[Contest]:
    """Decide all of a round's contests for one spot from their marks, as they were looked at."""
    with recorded(actor, "decide contest"):
        rivals = _rivals(contest)
        asked = [c for c in rivals if c.state == ContestState.ASKED]
        if not any(c.pk == contest.pk for c in asked):
            by = next((c.decided_by for c in rivals if c.pk == contest.pk), None)
            raise Refused(f"This contest was decided already{f' by {by}' if by else ''}.")
        _refuse_changed(asked)
        found = _figures(asked)
        if seen != fingerprint(found):
            raise Overtaken("Marks came in meanwhile: look at the figures again, then decide.")
        verdicts = core.settle(found)
        for one in asked:
            verdict, numbers = verdicts[one.pk], found[one.pk]
            one.state = ContestState.WON if verdict.won else ContestState.KEPT
            one.outcome = {
                "challenger": str(numbers.challenger),
                "holder": str(numbers.holder),
                "evaluators": numbers.evaluators,
                "reason": verdict.reason.value,
            }
            one.decided_by, one.decided_at = actor, timezone.now()
            one.save()
    return asked


def _figures(asked: list[Contest]) -> dict[int, core.Figures]:
    criteria = criteria_of(asked[0].round.season_id)
    found = {}
    for contest in asked:
        numbers = core.figures(criteria, [mark_of(m, contest) for m in contest.marks.all()])
        if numbers is None:
            raise Refused(
                f"No evaluator has marked both sides of {contest} on everything yet: "
                "mark it or call it off."
            )
        found[contest.pk] = numbers
    return found


def _refuse_changed(asked: list[Contest]) -> None:
    """The contest was about a holder: when the spot changed hands meanwhile it is void."""
    for contest in asked:
        holding = open_holding(spot=contest.spot)
        if holding is None or holding.member_id != contest.holder_id:
            raise Refused(f"{contest.holder} no longer holds {contest.spot}: call the contest off.")


def take_back(*, actor: User, contest: Contest) -> list[Contest]:
    """Open a spot's decision again, as long as no win of it is in effect."""
    with recorded(actor, "take decision back"):
        rivals = _rivals(contest)
        if any(c.applied_at for c in rivals):
            raise Refused(f"The win for {contest.spot} is in effect already.")
        decided = [c for c in rivals if c.state in DECIDED]
        if not any(c.pk == contest.pk for c in decided):
            raise Refused("There is no decision to take back.")
        for one in decided:
            one.state, one.outcome = ContestState.ASKED, {}
            one.decided_by, one.decided_at = None, None
            one.save()
    return decided


def put_into_effect(*, actor: User, contest: Contest, today: datetime.date) -> InEffect:
    """The winner holds the spot from the round's event on, or from today once that is over; the
    former holder gets the winner's alternate place. Happens once, however often it is asked."""
    with recorded(actor, "put win into effect"):
        mine = Contest.objects.filter(pk=contest.pk, applied_at__isnull=True)
        if not mine.filter(state=ContestState.WON).update(applied_at=timezone.now()):
            raise Refused("There is no win here that waits to be put into effect.")
        contest = _rivals(contest, only=contest.pk)[0]
        event = contest.round.effective
        _refuse_too_early(event, today)
        _refuse_changed([contest])
        holding = change_holder(
            actor=actor,
            spot=contest.spot,
            to=contest.challenger,
            on=max(event.date, today),
            note=f"contest, {contest.round}",
        )
        contest.holding = holding
        contest.save()
    stale = Lineup.objects.filter(
        event__season=contest.round.season_id,
        event__date__gte=holding.starts,
        state=LineupState.PUBLISHED,
    )
    newest = {x.event_id: x for x in stale.select_related("event").order_by("number")}
    return InEffect(holding, tuple(sorted(newest.values(), key=lambda x: x.event.date)))


def _refuse_too_early(event: Event, today: datetime.date) -> None:
    """The roster knows one holder at a time, so a performance before the win's event goes first."""
    performances = Event.objects.filter(season=event.season_id).exclude(kind=EventKind.REHEARSAL)
    first = performances.filter(date__gte=today, date__lt=event.date).order_by("date").first()
    if first is not None:
        raise Refused(
            f"The win counts from {event}, and {first} on {say(first.date, 'D j M')} comes before "
            "it: put it into effect after that."
        )


def _locked(contest: Contest) -> Contest:
    return Contest.objects.select_for_update().get(pk=contest.pk)


def _rivals(contest: Contest, only: int | None = None) -> list[Contest]:
    """The contests for the same spot in the same round, locked in id order."""
    same = Contest.objects.filter(round=contest.round_id, spot=contest.spot_id)
    same = same.filter(pk=only) if only else same
    list(same.select_for_update().order_by("pk"))
    rows = same.select_related(
        "round__season",
        "round__effective",
        "spot__rank",
        "spot__part",
        "challenger__person",
        "challenger__season",
        "holder__person",
        "decided_by",
    )
    return list(rows.prefetch_related("marks").order_by("pk"))
