"""From the absences of an event to who is away from which of its segments."""

from __future__ import annotations

import datetime
from collections import defaultdict
from collections.abc import Collection, Iterable

from bandops.lib.keys import key
from drill.absences import queries
from drill.absences.core import availability as states
from drill.absences.models import Absence
from drill.absences.ties import BLOCK_SLOTS
from drill.events import queries as event_queries
from drill.events.enums import EventKind
from drill.events.models import Event, Segment
from roster.people.enums import MemberStatus
from roster.people.models import Member


def standings(
    event: Event,
    slots: list[states.Slot],
    members: list[Member],
    without: Collection[int] = (),
) -> dict[tuple[str, str], states.Standing]:
    """(member, slot) by key -> availability, as if the entries ``without`` (ids) did not count."""
    entries: dict[int, list[states.Entry]] = defaultdict(list)
    for absence in queries.absences_at(event).exclude(pk__in=without):
        entries[absence.member_id].append(entry_of(absence))
    return {
        (key(m.pk), key(slot.key)): states.standing(slot, entries.get(m.pk, ()))
        for m in members
        for slot in slots
    }


def standings_of(event: Event, member: Member) -> dict[int, states.Standing]:
    """Segment id -> the member's availability."""
    segments = list(event.segments.all())
    found = standings(event, segment_slots(event, segments), [member])
    return {s.pk: found[key(member.pk), key(s.pk)] for s in segments}


def away_from(event: Event, members: Iterable[Member]) -> dict[int, set[int]]:
    """Member id -> ids of the segments they are entered away from; clearance is not asked."""
    segments, people = list(event.segments.all()), list(members)
    found = standings(event, segment_slots(event, segments), people)
    out_from = event.season.doubtful_out_from
    return {
        m.pk: {s.pk for s in segments if found[key(m.pk), key(s.pk)].is_away(out_from)}
        for m in people
    }


def segment_slots(event: Event, segments: Iterable[Segment]) -> list[states.Slot]:
    """All segments of an event as the availability rules see them."""
    return states.one_night(
        states.Slot(s.pk, event.pk, event.date, s.starts, s.ends) for s in segments
    )


def slots_of(event: Event) -> list[states.Slot]:
    """What of an event a member can miss: its segments and a rehearsal's blocks, else the day."""
    slots = segment_slots(event, event.segments.all())
    if event.kind == EventKind.REHEARSAL:
        blocks = [slot for parts in BLOCK_SLOTS.ask(event) for slot in parts]
        slots = states.one_night([*slots, *blocks])
    day = states.Slot(0, event.pk, event.date, datetime.time.min, datetime.time.max)
    return slots or [day]


def entry_of(absence: Absence) -> states.Entry:
    """An absence as the availability rules see it."""
    return states.Entry(
        absence.pk,
        states.Said(absence.kind),
        absence.event_id,
        absence.segment_id,
        absence.from_date,
        absence.until_date,
        absence.late_until,
        absence.leaves_at,
        absence.chance,
        absence.made_at,
    )


def availability(event: Event, members: Iterable[Member]) -> dict[int, str]:
    """Member id -> 'available', 'doubtful', 'unavailable' or 'in part', over the whole event.

    Whoever is doubtful is called so, however likely they are to be out.
    """
    slots, people = slots_of(event), list(members)
    words = _words(event, slots, people)
    return {m.pk: _in_all([words[m.pk, slot.key] for slot in slots]) for m in people}


def availability_by_segment(event: Event, members: Iterable[Member]) -> dict[tuple[int, int], str]:
    """(member, segment) ids -> 'out' or 'doubtful'; who is available is left out."""
    slots = segment_slots(event, event.segments.all())
    return {pair: word for pair, word in _words(event, slots, list(members)).items() if word}


def _words(
    event: Event, slots: list[states.Slot], people: list[Member]
) -> dict[tuple[int, int], str]:
    """(member, slot) ids -> 'out', 'doubtful' or '', whatever the reason."""
    along = event_queries.travellers(event)
    at = standings(event, slots, people)
    found = {}
    for member in people:
        active = member.status == MemberStatus.ACTIVE and member.may_march_on(event.date)
        comes = active and (along is None or member.pk in along)
        for slot in slots:
            word = at[key(member.pk), key(slot.key)].word
            found[member.pk, slot.key] = word if comes else "out"
    return found


def _in_all(words: list[str]) -> str:
    if all(word == "out" for word in words):
        return "unavailable"
    if "out" in words:
        return "in part"
    return "doubtful" if "doubtful" in words else "available"
