"""Absences: reporting, deciding, withdrawing. Entries are added, never overwritten."""

from __future__ import annotations

import datetime
import uuid
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from bandops.lib.accounts.models import User
from bandops.lib.audit.recording import recorded
from bandops.lib.errors import Refused
from drill.absences.enums import AbsenceKind, AbsenceState
from drill.absences.models import Absence
from roster.people.models import Member

STAFF_ONLY = {"category", "review_date", "chance"}


@dataclass(frozen=True)
class Report:
    """What somebody says about a member's availability."""

    member: Member
    values: dict[str, Any]


def report_absence(*, actor: User, report: Report, by_staff: bool) -> Absence:
    """Add an entry: confirmed when staff make it, else reported for staff to decide.

    A member's or rank leader's entry carries no category, chance or review date.
    """
    return report_once(actor=actor, report=report, by_staff=by_staff, key=None)[0]


def report_once(
    *,
    actor: User,
    report: Report,
    by_staff: bool,
    key: uuid.UUID | None,
    noted_at: datetime.datetime | None = None,
) -> tuple[Absence, bool]:
    """As ``report_absence``, and whether the entry is new: the same sent twice is kept once.

    A page that is still open sends its key again with other content: that is another entry.
    ``noted_at`` is when it was made; None for now.
    """
    values = _values(report, by_staff)
    own_key = _own_key(key, actor, report.member, values) if key else None
    with recorded(actor, "report absence"):
        Member.objects.select_for_update().get(pk=report.member.pk)
        known = Absence.objects.filter(key=own_key).first() if own_key else None
        if known is None and noted_at is None:
            known = _said_last(actor, report.member, values)
        if known is not None:
            return known, False
        absence = Absence(
            member=report.member,
            reported_by=actor,
            state=AbsenceState.CONFIRMED if by_staff else AbsenceState.REPORTED,
            key=own_key,
            noted_at=noted_at,
            **values,
        )
        absence.full_clean()
        absence.save()
    return absence, True


def _said_last(actor: User, member: Member, values: dict[str, Any]) -> Absence | None:
    """The member's last entry, where the same person said the very same and it still holds.

    What a phone kept while it was away is not compared: its order is not known.
    """
    last = Absence.objects.filter(member=member).order_by("-pk").first()
    if last is None or last.reported_by_id != actor.pk:
        return None
    holds = last.state in (AbsenceState.REPORTED, AbsenceState.CONFIRMED)
    same = all(getattr(last, name) == value for name, value in values.items())
    return last if holds and same else None


def _values(report: Report, by_staff: bool) -> dict[str, Any]:
    values = {k: v for k, v in report.values.items() if by_staff or k not in STAFF_ONLY}
    if values.get("kind") == AbsenceKind.DOUBTFUL:
        values.setdefault("chance", Decimal("0.5"))
    return values


def _own_key(key: uuid.UUID, actor: User, member: Member, values: dict[str, Any]) -> uuid.UUID:
    """Of the form's key and what was sent with it, by whom."""
    content = sorted((name, str(getattr(value, "pk", value))) for name, value in values.items())
    return uuid.uuid5(key, repr((actor.pk, member.pk, content)))


def decide_absence(*, actor: User, absence: Absence, confirm: bool) -> Absence:
    """Staff confirm or decline a report."""
    with recorded(actor, "confirm absence" if confirm else "decline absence"):
        absence = Absence.objects.select_for_update().get(pk=absence.pk)
        if absence.state != AbsenceState.REPORTED:
            raise Refused(f"{absence.member}: somebody just {absence.state} the report.")
        absence.state = AbsenceState.CONFIRMED if confirm else AbsenceState.DECLINED
        absence.save()
    return absence


def withdraw_absence(*, actor: User, absence: Absence) -> Absence:
    """Take an entry back; it stays in the history and no longer counts."""
    with recorded(actor, "withdraw absence"):
        absence = Absence.objects.select_for_update().get(pk=absence.pk)
        if absence.state == AbsenceState.WITHDRAWN:
            raise Refused("That entry was already withdrawn.")
        absence.state = AbsenceState.WITHDRAWN
        absence.save()
    return absence
