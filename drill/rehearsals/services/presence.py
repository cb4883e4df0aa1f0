"""Who is at a performance."""

from __future__ import annotations

import datetime
from collections import defaultdict
from collections.abc import Iterable

from drill.events.enums import EventKind
from drill.events.models import Event, Segment
from drill.rehearsals.core.presence import Presence, presence
from drill.rehearsals.enums import AttendanceState
from drill.rehearsals.models import Attendance
from drill.rehearsals.services.attendance import outcome_of
from roster.people.models import Member

Cell = tuple[int, int]
"""ids: of an event and a member, of a member and a segment"""


def presences(events: Iterable[Event]) -> dict[Cell, Presence]:
    """Whom anybody has noted at the events, in one query."""
    notes: dict[Cell, list[Attendance]] = defaultdict(list)
    for note in Attendance.objects.filter(event__in=[e.pk for e in events]):
        notes[note.event_id, note.member_id].append(note)
    return {cell: presence(outcome_of(those)) for cell, those in notes.items()}


def was_in(found: Presence, event: Event, segment: Segment, over: datetime.datetime) -> bool | None:
    """Whether somebody was there for a segment; None where the notes do not tell."""
    starts, ends = event.span(segment)
    return found.was_in(starts, ends, over)


def seen_in(segments: Iterable[Segment]) -> dict[Cell, bool]:
    """(member id, segment id) -> whether the notes say that they were there for it; the segments
    come with their events."""
    wanted: dict[Event, list[Segment]] = defaultdict(list)
    for segment in segments:
        wanted[segment.event].append(segment)
    found: dict[int, dict[int, Presence]] = defaultdict(dict)
    for (event_id, member), noted in presences(wanted).items():
        found[event_id][member] = noted
    told = {}
    for event, parts in wanted.items():
        over = event.over_from(event.segments.all())
        for member, noted in found[event.pk].items():
            for part in parts:
                seen = was_in(noted, event, part, over)
                if seen is not None:
                    told[member, part.pk] = seen
    return told


def own_attendance(member: Member) -> list[tuple[Event, str]]:
    """A member's performances at which they were noted, the latest first, in words."""
    performances = Event.objects.filter(attendance__member=member)
    performances = performances.exclude(kind=EventKind.REHEARSAL)
    events = {e.pk: e for e in performances.distinct().order_by("-date", "-pk")}
    notes: dict[int, list[Attendance]] = defaultdict(list)
    for note in Attendance.objects.filter(member=member, event__in=events):
        notes[note.event_id].append(note)
    return [(e, presence_word(presence(outcome_of(notes[pk])))) for pk, e in events.items()]


def presence_word(found: Presence) -> str:
    """'here', 'late', 'left early', 'not here', 'notes differ'; empty where nobody noted."""
    if found.state is None:
        return "notes differ" if found.differs else ""
    return str(AttendanceState(found.state).label)
