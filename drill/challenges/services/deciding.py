"""Deciding a spot's challenges, and putting a win into effect.

A win is decided at once and put into effect when no other performance lies before the round's
event: from then on the roster shows the new holder, and by date the holder's days before that
event stay theirs. Lineups that are past keep their holders; published ones to come are stale.
"""

from __future__ import annotations

import datetime
from dataclasses import dataclass

from django.utils import timezone

from bandops.lib.accounts.models import User
from bandops.lib.audit.recording import recorded
from bandops.lib.dates import weekday_words
from bandops.lib.errors import Overtaken, Refused
from drill.challenges.core import challenges as core
from drill.challenges.enums import Challengers, ChallengeState
from drill.challenges.models import Challenge, ChallengeCriterion, ChallengeMark
from drill.challenges.services.reach import rule_of
from drill.events.enums import EventKind
from drill.events.models import Event
from drill.lineup.enums import LineupState
from drill.lineup.models import Lineup
from roster.ranks.models import Holding
from roster.ranks.services.holdings import change_holder, take_over
from roster.ranks.services.spots import open_holding

DECIDED = (ChallengeState.KEPT, ChallengeState.WON)


@dataclass(frozen=True)
class InEffect:
    """A win that counts now: from when, and the published lineups to come that it makes stale."""

    holding: Holding
    stale: tuple[Lineup, ...]


def criteria_of(season_id: int) -> list[core.Criterion]:
    """What a season's challenges are marked on."""
    rows = ChallengeCriterion.objects.filter(season=season_id)
    return [core.Criterion(c.pk, c.top, c.weight) for c in rows]


def mark_of(row: ChallengeMark, challenge: Challenge) -> core.Mark:
    """A blind mark with its side named: challenger or holder."""
    challenger = (row.side == "A") == challenge.challenger_is_a
    return core.Mark(row.evaluator_id, row.criterion_id, challenger, row.value)


def fingerprint(found: dict[int, core.Figures]) -> str:
    """The figures somebody looked at before deciding."""
    return ";".join(
        f"{pk}:{f.challenger}:{f.holder}:{f.evaluators}" for pk, f in sorted(found.items())
    )


def decide_spot(*, actor: User, challenge: Challenge, seen: str) -> list[Challenge]:
    """Decide all of a round's challenges for one spot from their marks, as they were looked at."""
    with recorded(actor, "decide challenge"):
        rivals = _rivals(challenge)
        asked = [c for c in rivals if c.state == ChallengeState.ASKED]
        if not any(c.pk == challenge.pk for c in asked):
            by = next((c.decided_by for c in rivals if c.pk == challenge.pk), None)
            raise Refused(f"This challenge was already decided{f' by {by}' if by else ''}.")
        _refuse_changed(asked)
        found = _figures(asked)
        if seen != fingerprint(found):
            raise Overtaken("More marks just came in: look at the figures again, then decide.")
        verdicts = core.settle(found)
        for one in asked:
            verdict, numbers = verdicts[one.pk], found[one.pk]
            one.state = ChallengeState.WON if verdict.won else ChallengeState.KEPT
            one.outcome = {
                "challenger": str(numbers.challenger),
                "holder": str(numbers.holder),
                "evaluators": numbers.evaluators,
                "reason": verdict.reason.value,
            }
            one.decided_by, one.decided_at = actor, timezone.now()
            one.save()
    return asked


def _figures(asked: list[Challenge]) -> dict[int, core.Figures]:
    criteria = criteria_of(asked[0].round.season_id)
    found = {}
    for challenge in asked:
        numbers = core.figures(criteria, [mark_of(m, challenge) for m in challenge.marks.all()])
        if numbers is None:
            raise Refused(
                f"No evaluator has marked both sides of {challenge} on everything yet: "
                "mark it or call it off."
            )
        found[challenge.pk] = numbers
    return found


def _refuse_changed(asked: list[Challenge]) -> None:
    """The challenge was about a holder: when the spot changed hands meanwhile it is void."""
    for challenge in asked:
        holding = open_holding(spot=challenge.spot)
        if holding is None or holding.member_id != challenge.holder_id:
            raise Refused(
                f"{challenge.holder} no longer holds {challenge.spot}: call the challenge off."
            )


def take_back(*, actor: User, challenge: Challenge) -> list[Challenge]:
    """Open a spot's decision again, as long as no win of it is in effect."""
    with recorded(actor, "take decision back"):
        rivals = _rivals(challenge)
        if any(c.applied_at for c in rivals):
            raise Refused(f"The win for {challenge.spot} is already in effect.")
        decided = [c for c in rivals if c.state in DECIDED]
        if not any(c.pk == challenge.pk for c in decided):
            raise Refused("There is no decision to take back.")
        for one in decided:
            one.state, one.outcome = ChallengeState.ASKED, {}
            one.decided_by, one.decided_at = None, None
            one.save()
    return decided


def put_into_effect(*, actor: User, challenge: Challenge, today: datetime.date) -> InEffect:
    """The winner holds the spot from the round's event on, or from today once that is over; the
    former holder gets the winner's place or spot. Happens once, however often it is asked."""
    with recorded(actor, "put win into effect"):
        mine = Challenge.objects.filter(pk=challenge.pk, applied_at__isnull=True)
        if not mine.filter(state=ChallengeState.WON).update(applied_at=timezone.now()):
            raise Refused("No win here is waiting to go into effect.")
        challenge = _rivals(challenge, only=challenge.pk)[0]
        event = challenge.round.effective
        _refuse_too_early(event, today)
        _refuse_changed([challenge])
        holding = _hand_over(actor, challenge, on=max(event.date, today))
        challenge.holding = holding
        challenge.save()
    stale = Lineup.objects.filter(
        event__season=challenge.round.season_id,
        event__date__gte=holding.starts,
        state=LineupState.PUBLISHED,
    )
    newest = {x.event_id: x for x in stale.select_related("event").order_by("number")}
    return InEffect(holding, tuple(sorted(newest.values(), key=lambda x: x.event.date)))


def _hand_over(actor: User, challenge: Challenge, on: datetime.date) -> Holding:
    """The spot goes to the winner: an alternate's place goes to the former holder, and so does the
    spot of a winner who holds one, where the season lets holders challenge."""
    winner = challenge.challenger
    holds = open_holding(member=winner) is not None
    holders_too = rule_of(challenge.round.season).who == Challengers.ALL
    hand_over = take_over if holds and holders_too else change_holder
    return hand_over(
        actor=actor, spot=challenge.spot, to=winner, on=on, note=f"challenge, {challenge.round}"
    )


def _refuse_too_early(event: Event, today: datetime.date) -> None:
    """The roster knows one holder at a time, so a performance before the win's event goes first."""
    performances = Event.objects.filter(season=event.season_id).exclude(kind=EventKind.REHEARSAL)
    first = performances.filter(date__gte=today, date__lt=event.date).order_by("date").first()
    if first is not None:
        raise Refused(
            f"The win counts from {event}, and {first} on {weekday_words(first.date)} comes before "
            "it: put it into effect after that."
        )


def _rivals(challenge: Challenge, only: int | None = None) -> list[Challenge]:
    """The challenges for the same spot in the same round, locked in id order."""
    same = Challenge.objects.filter(round=challenge.round_id, spot=challenge.spot_id)
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
