"""How often each member was at rehearsals."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass

from drill.events.models import Event
from drill.rehearsals.enums import AttendanceState
from drill.rehearsals.models import Attendance
from drill.rehearsals.services.attendance import outcome_of

HERE = (AttendanceState.PRESENT, AttendanceState.LATE, AttendanceState.LEFT)


@dataclass(frozen=True)
class Count:
    """A rehearsal in a list: how many were noted and here, and how many notes differ."""

    noted: int
    here: int
    differs: int


def counts_of(events: Iterable[Event]) -> dict[int, Count]:
    """Event id -> its attendance in figures, in one query."""
    notes: dict[int, dict[int, list[Attendance]]] = defaultdict(lambda: defaultdict(list))
    rows = Attendance.objects.filter(event__in=[e.pk for e in events])
    for note in rows:
        notes[note.event_id][note.member_id].append(note)
    found = {}
    for event_id, by_member in notes.items():
        outcomes = [outcome_of(those) for those in by_member.values()]
        found[event_id] = Count(
            len(outcomes),
            sum(o.state in HERE for o in outcomes),
            sum(o.differs for o in outcomes),
        )
    return found
