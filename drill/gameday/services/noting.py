"""What is noted of a change of the day: seats before and after, and the pins it lifted."""

from __future__ import annotations

import datetime
import uuid

from bandops.lib.accounts.models import User
from drill.absences.models import Absence
from drill.events.models import Event
from drill.gameday.models import DayChange
from drill.gameday.services.pins import Pins
from drill.lineup.core.changes import seats_of
from drill.lineup.models import Lineup
from drill.lineup.services.proposals import placements_of
from roster.people.models import Member


def note_change(
    actor: User,
    event: Event,
    last: Lineup,
    made: Lineup,
    out: Member | None,
    absence: Absence | None,
    change_key: uuid.UUID,
    pins: Pins = (),
    noted_at: datetime.datetime | None = None,
) -> DayChange:
    """The change of the day between two revisions, with what it takes to undo it; ``noted_at`` is
    when it was wanted, None for now."""
    before, after = seats_of(placements_of(last)), seats_of(placements_of(made))
    changed = sorted(s for s in before if before[s] != after.get(s))

    def row(member: str | None) -> int | None:
        return int(member) if member else None

    return DayChange.objects.create(
        event=event,
        key=change_key,
        before=last,
        after=made,
        seats=[[int(g), int(s), row(before[g, s]), row(after[g, s])] for g, s in changed],
        pins=[list(pin) for pin in pins],
        member_out=out,
        absence=absence,
        made_by=actor,
        noted_at=noted_at,
    )
