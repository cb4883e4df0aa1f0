"""Absences: reporting, deciding, withdrawing. Entries are added, never overwritten."""

from __future__ import annotations

import uuid
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from bandops.lib.accounts.models import User
from bandops.lib.audit.recording import recorded
from bandops.lib.errors import Refused
from drill.enums import AbsenceKind, AbsenceState
from drill.models import Absence
from roster.models import Member

STAFF_ONLY = {"category", "review_date", "chance"}


@dataclass(frozen=True)
class Report:
    """What somebody says about a member's availability."""

    member: Member
    values: dict[str, Any]


def report_absence(
    *, actor: User, report: Report, by_staff: bool, key: uuid.UUID | None = None
) -> Absence:
    """Add an entry: confirmed when staff make it, else reported for staff to decide.

    A member's or rank leader's entry carries no category, chance or review date. With the key of
    an entry that is there already, that one comes back.
    """
    known = Absence.objects.filter(key=key, reported_by=actor).first() if key else None
    if known is not None:
        return known
    values = dict(report.values)
    if not by_staff:
        values = {k: v for k, v in values.items() if k not in STAFF_ONLY}
    if values.get("kind") == AbsenceKind.DOUBTFUL:
        values.setdefault("chance", Decimal("0.5"))
    absence = Absence(
        member=report.member,
        reported_by=actor,
        state=AbsenceState.CONFIRMED if by_staff else AbsenceState.REPORTED,
        key=key,
        **values,
    )
    absence.full_clean()
    with recorded(actor, "report absence"):
        absence.save()
    return absence


def decide_absence(*, actor: User, absence: Absence, confirm: bool) -> Absence:
    """Staff confirm or decline a report."""
    with recorded(actor, "confirm absence" if confirm else "decline absence"):
        absence = Absence.objects.select_for_update().get(pk=absence.pk)
        if absence.state != AbsenceState.REPORTED:
            raise Refused(f"{absence.member}: the report was {absence.state} meanwhile.")
        absence.state = AbsenceState.CONFIRMED if confirm else AbsenceState.DECLINED
        absence.save()
    return absence


def withdraw_absence(*, actor: User, absence: Absence) -> Absence:
    """Take an entry back; it stays in the history and no longer counts."""
    with recorded(actor, "withdraw absence"):
        absence = Absence.objects.select_for_update().get(pk=absence.pk)
        if absence.state == AbsenceState.WITHDRAWN:
            raise Refused("The entry was withdrawn already.")
        absence.state = AbsenceState.WITHDRAWN
        absence.save()
    return absence
