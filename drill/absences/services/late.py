"""Who comes late to an event, and until when: also where they miss nothing that is marched."""

from __future__ import annotations

import datetime
from collections.abc import Iterable

from bandops.lib.dates import hour_words
from bandops.lib.keys import key
from drill.absences.core.availability import Slot
from drill.absences.enums import AbsenceKind
from drill.absences.models import Absence
from drill.absences.queries import absences_at
from drill.absences.services.standings import slots_of, standings
from drill.events.models import Event
from roster.people.models import Member


def late_until(event: Event, members: Iterable[Member]) -> dict[int, datetime.datetime]:
    """Member id -> until when they are late, of those whose latest word is that they come after
    the call."""
    slots, people = slots_of(event), {m.pk: m for m in members}
    late = {
        row.pk: row
        for row in absences_at(event).filter(kind=AbsenceKind.LATE)
        if row.member_id in people and _is_after_the_call(event, slots[0], row)
    }
    if not late:
        return {}
    found: dict[int, datetime.datetime] = {}
    named = dict.fromkeys(row.member_id for row in late.values())
    said = standings(event, slots, [people[pk] for pk in named])
    for row in late.values():
        deciding = (said[key(row.member_id), key(slot.key)].entry for slot in slots)
        if row.pk in deciding and row.late_until:
            until = event.local(row.late_until)
            found[row.member_id] = max(until, found.get(row.member_id, until))
    return found


def late_words(event: Event, members: Iterable[Member]) -> dict[int, str]:
    """The same in words: 'late until 9:10 AM'."""
    return {
        pk: f"late until {hour_words(until, event.zone)}"
        for pk, until in late_until(event, members).items()
    }


def _is_after_the_call(event: Event, slot: Slot, entry: Absence) -> bool:
    """Without a call every late arrival counts that is said of this very event."""
    if entry.late_until is None or event.call_time is None:
        return entry.event_id is not None
    return slot.order(entry.late_until) > slot.order(event.call_time)
