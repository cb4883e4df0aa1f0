"""Noting who is at a rehearsal or a performance."""

from __future__ import annotations

import datetime
import uuid

from bandops.lib.accounts.models import User
from bandops.lib.audit.recording import recorded
from bandops.lib.errors import Refused
from drill.events.models import Event
from drill.rehearsals.enums import AttendanceState
from drill.rehearsals.models import Attendance
from drill.rehearsals.services.attendance import attendance_of
from drill.rehearsals.services.rehearsals import keep_once, noted_moment
from roster.people.models import Member
from roster.ranks.models import Rank


def note_attendance(
    *,
    actor: User,
    event: Event,
    member: Member,
    state: str,
    key: uuid.UUID,
    noted_at: datetime.datetime | None,
    settles: bool = False,
) -> Attendance:
    """Add what somebody saw of a member; the same note sent twice is kept once.

    ``noted_at`` is when it was made, for notes that had to wait for a signal. ``settles`` is for
    staff and the rank's leader, where notes differ.
    """
    if state not in AttendanceState.values:
        raise Refused("Choose here, late, left early or not here.")
    moment = noted_moment(event, noted_at)
    told = {"event": event, "member": member, "state": state, "settles": settles}
    with recorded(actor, "note attendance"):
        return keep_once(Attendance, key=key, told={**told, "noted_by": actor}, noted_at=moment)


def note_rest_here(
    *,
    actor: User,
    event: Event,
    rank: Rank,
    key: uuid.UUID,
    noted_at: datetime.datetime | None,
) -> int:
    """Everybody of the rank whom nobody has noted is here, but for those expected to be away
    or late."""
    moment = noted_moment(event, noted_at)
    with recorded(actor, "note everybody else here"):
        [sheet] = attendance_of(event, [rank])
        notes = [
            Attendance(
                event=event,
                member=line.member,
                state=AttendanceState.PRESENT,
                key=uuid.uuid5(key, str(line.member.pk)),
                noted_by=actor,
                noted_at=moment,
            )
            for line in sheet.rest
        ]
        Attendance.objects.bulk_create(notes, ignore_conflicts=True)
    return len(notes)
