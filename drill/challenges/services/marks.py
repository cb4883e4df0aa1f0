"""Marks of challenges: each evaluator's own, for two sides without names."""

from __future__ import annotations

import datetime
from collections.abc import Mapping
from decimal import Decimal

from bandops.lib.accounts.models import User
from bandops.lib.audit.recording import recorded
from bandops.lib.errors import Refused
from drill.challenges.enums import ChallengeState, Side
from drill.challenges.models import Challenge, ChallengeCriterion, ChallengeMark

Given = Mapping[tuple[int, str], Decimal | None]
"""(criterion id, side) -> mark, None for none yet"""


def may_mark(challenge: Challenge, user: User, at: datetime.datetime) -> bool:
    """From the day it is held until it is decided, and never one's own."""
    today = at.astimezone(challenge.round.zone).date()
    people = (challenge.challenger.person.user_id, challenge.holder.person.user_id)
    return (
        challenge.state == ChallengeState.ASKED
        and challenge.round.held_on <= today
        and user.pk not in people
    )


def save_marks(*, actor: User, challenge: Challenge, given: Given, at: datetime.datetime) -> int:
    """Write the evaluator's own marks, all or none; returns how many they have for it now."""
    with recorded(actor, "mark challenge"):
        Challenge.objects.select_for_update().get(pk=challenge.pk)
        challenge = Challenge.objects.select_related(
            "round__season", "challenger__person", "holder__person"
        ).get(pk=challenge.pk)
        if challenge.state != ChallengeState.ASKED:
            raise Refused("This challenge is decided or called off: its marks are final.")
        if not may_mark(challenge, actor, at):
            raise Refused("This challenge is not yours to mark now.")
        criteria = {
            c.pk: c for c in ChallengeCriterion.objects.filter(season=challenge.round.season)
        }
        mine = ChallengeMark.objects.filter(challenge=challenge, evaluator=actor)
        now = {(m.criterion_id, m.side): m for m in mine}
        for (criterion_id, side), value in given.items():
            if criterion_id not in criteria or side not in Side.values:
                raise Refused("What is marked just changed: look again.")
            _refuse_off_scale(criteria[criterion_id], value)
            row = now.get((criterion_id, side)) or ChallengeMark(
                challenge=challenge, evaluator=actor, criterion_id=criterion_id, side=side
            )
            _write(row, value)
        return mine.count()


def _write(row: ChallengeMark, value: Decimal | None) -> None:
    """Only what differs is written, so that sending a form again changes nothing."""
    if value is None:
        if row.pk:
            row.delete()
    elif row.pk is None or row.value != value:
        row.value = value
        row.save()


def _refuse_off_scale(criterion: ChallengeCriterion, value: Decimal | None) -> None:
    if value is not None and not 0 <= value <= criterion.top:
        raise Refused(f"{criterion}: marks go from 0 to {criterion.top}.")
