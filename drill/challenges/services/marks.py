"""Marks of contests: each evaluator's own, for two sides without names."""

from __future__ import annotations

import datetime
from collections.abc import Mapping
from decimal import Decimal

from bandops.lib.accounts.models import User
from bandops.lib.audit.recording import recorded
from bandops.lib.errors import Refused
from drill.challenges.enums import ContestState, Side
from drill.challenges.models import Contest, ContestCriterion, ContestMark

Given = Mapping[tuple[int, str], Decimal | None]
"""(criterion id, side) -> mark, None for none yet"""


def may_mark(contest: Contest, user: User, at: datetime.datetime) -> bool:
    """From the day it is held until it is decided, and never one's own."""
    today = at.astimezone(contest.round.zone).date()
    people = (contest.challenger.person.user_id, contest.holder.person.user_id)
    return (
        contest.state == ContestState.ASKED
        and contest.round.held_on <= today
        and user.pk not in people
    )


def save_marks(*, actor: User, contest: Contest, given: Given, at: datetime.datetime) -> int:
    """Write the evaluator's own marks, all or none; returns how many they have for it now."""
    with recorded(actor, "mark contest"):
        Contest.objects.select_for_update().get(pk=contest.pk)
        contest = Contest.objects.select_related(
            "round__season", "challenger__person", "holder__person"
        ).get(pk=contest.pk)
        if contest.state != ContestState.ASKED:
            raise Refused("This contest is decided or called off: its marks no longer change.")
        if not may_mark(contest, actor, at):
            raise Refused("This contest is not yours to mark now.")
        criteria = {c.pk: c for c in ContestCriterion.objects.filter(season=contest.round.season)}
        mine = ContestMark.objects.filter(contest=contest, evaluator=actor)
        now = {(m.criterion_id, m.side): m for m in mine}
        for (criterion_id, side), value in given.items():
            if criterion_id not in criteria or side not in Side.values:
                raise Refused("What is marked changed meanwhile: look again.")
            _refuse_off_scale(criteria[criterion_id], value)
            row = now.get((criterion_id, side)) or ContestMark(
                contest=contest, evaluator=actor, criterion_id=criterion_id, side=side
            )
            _write(row, value)
        return mine.count()


def _write(row: ContestMark, value: Decimal | None) -> None:
    """Only what differs is written, so that sending a form again changes nothing."""
    if value is None:
        if row.pk:
            row.delete()
    elif row.pk is None or row.value != value:
        row.value = value
        row.save()


def _refuse_off_scale(criterion: ContestCriterion, value: Decimal | None) -> None:
    if value is not None and not 0 <= value <= criterion.top:
        raise Refused(f"{criterion}: marks go from 0 to {criterion.top}.")
