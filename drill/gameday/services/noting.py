"""What is noted of a change of the day: seats before and after, and the pins it lifted."""

from __future__ import annotations

import uuid
from collections.abc import Sequence

from bandops.lib.accounts.models import User
from drill.absences.models import Absence
from drill.events.models import Event, Segment
from drill.gameday.models import DayChange
from drill.lineup.core.changes import seats_of
from drill.lineup.models import Lineup, Pin
from drill.lineup.services.orders import pins_at
from drill.lineup.services.proposals import placements_of
from roster.people.models import Member

Pins = Sequence[tuple[int | None, int]]
"""(segment or none, spot) ids"""


def drop_pins(event: Event, last: Lineup, member: Member) -> Pins:
    """A pin of somebody who is out, where they stand, holds nobody."""
    spots = last.rows.filter(member=member).values("spot")
    pins = Pin.objects.filter(event=event, member=member, spot__in=spots)
    dropped = list(pins.values_list("segment_id", "spot_id"))
    pins.delete()
    return dropped


def pin_again(change: DayChange) -> None:
    """The pins that fell with a change, where nobody has pinned anybody since."""
    member = change.member_out
    if member is None:
        return
    for segment, spot in change.pins:
        where = Segment.objects.get(pk=segment) if segment is not None else None
        if not pins_at(change.event, where).filter(spot=spot).exists():
            Pin.objects.create(event=change.event, segment_id=segment, spot_id=spot, member=member)


def note_change(
    actor: User,
    event: Event,
    last: Lineup,
    made: Lineup,
    out: Member | None,
    absence: Absence | None,
    change_key: uuid.UUID,
    pins: Pins = (),
) -> DayChange:
    """The change of the day between two revisions, with what it takes to undo it."""
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
    )
