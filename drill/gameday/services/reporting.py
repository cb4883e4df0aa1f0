"""That somebody is out, said with a change of the day, and taken back with it."""

from __future__ import annotations

import datetime
import uuid

from django.db.models import QuerySet

from bandops.lib.accounts.models import User
from drill.absences.enums import COUNTING, AbsenceKind, AbsenceState
from drill.absences.models import Absence
from drill.absences.services.absences import withdraw_absence
from drill.absences.services.standings import availability_by_segment
from drill.events.models import Event, Segment
from drill.gameday.models import DayChange
from drill.gameday.queries import Clock
from roster.people.models import Member


def report_out(
    actor: User,
    event: Event,
    member: Member,
    at: Clock,
    change_key: uuid.UUID,
    made: datetime.datetime | None = None,
) -> Absence | None:
    """The member is out of the segments that are left: one entry for the event where that is all
    of it (this one is returned), else one for each. Nothing is said of segments that they are
    known to be out of; who was doubtful is out from now on. ``made`` is when it was said, None for
    now."""
    words = availability_by_segment(event, [member])
    unsaid = [s for s in at.left if words.get((member.pk, s.pk)) != "out"]
    if unsaid and len(at.left) == event.segments.count():
        return keep_said(actor, event, member, None, change_key, made)
    for segment in unsaid:
        keep_said(actor, event, member, segment, _own_key(change_key, segment), made)
    return None


def take_back_out(actor: User, change: DayChange, at: Clock) -> None:
    """Withdraw what was said with the change, but of segments that are over: those they missed."""
    whole = change.absence
    if whole is not None and whole.state in COUNTING:
        withdraw_absence(actor=actor, absence=whole)
        for segment in at.over:
            key = _own_key(change.key, segment)
            keep_said(actor, change.event, whole.member, segment, key)
    for absence in _of_segments(change, at):
        withdraw_absence(actor=actor, absence=absence)


def would_be_taken_back(change: DayChange, at: Clock) -> frozenset[int]:
    """Ids of the entries that ``take_back_out`` would withdraw."""
    whole = {change.absence_id} if change.absence_id else set()
    return frozenset(whole | {absence.pk for absence in _of_segments(change, at)})


def _of_segments(change: DayChange, at: Clock) -> QuerySet[Absence]:
    """The entries that came with the change, each about one segment that is left."""
    keys = [_own_key(change.key, segment) for segment in at.left]
    return Absence.objects.filter(key__in=keys, state__in=COUNTING)


def _own_key(change_key: uuid.UUID, segment: Segment) -> uuid.UUID:
    """Of an entry about one segment: a change may come with several."""
    return uuid.uuid5(change_key, str(segment.pk))


def keep_said(
    actor: User,
    event: Event,
    member: Member,
    segment: Segment | None,
    key: uuid.UUID,
    made: datetime.datetime | None = None,
) -> Absence:
    """The entry that the member is out; what was sent before is not entered again."""
    known = Absence.objects.filter(key=key).first()
    return known or Absence.objects.create(
        member=member,
        event=event,
        segment=segment,
        kind=AbsenceKind.OUT,
        state=AbsenceState.CONFIRMED,
        reported_by=actor,
        key=key,
        noted_at=made,
    )
