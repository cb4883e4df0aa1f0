"""Whether a member can march a segment, from the entries made about them.

Entries that speak of a segment are those of its event, of the segment itself, or of dates that
include its day. The latest entry that says something about the segment wins.
"""

from __future__ import annotations

import datetime
from collections.abc import Iterable
from dataclasses import dataclass, replace
from decimal import Decimal
from enum import StrEnum

ALWAYS = datetime.datetime.min.replace(tzinfo=datetime.UTC)


class Said(StrEnum):
    """What an entry says."""

    OUT = "out"
    LIMITED = "limited"
    LATE = "late"
    LEAVES = "leaves"
    DOUBTFUL = "doubtful"
    IN = "in"


class State(StrEnum):
    """Where a member stands for a segment."""

    IN = "in"
    OUT = "out"
    LIMITED = "limited"
    LATE = "late"
    LEAVES = "leaves"
    DOUBTFUL = "doubtful"


@dataclass(frozen=True, slots=True)
class Slot:
    """One segment: its event, day and local times; until when its event goes on past midnight."""

    key: int
    event: int
    date: datetime.date
    starts: datetime.time
    ends: datetime.time
    night: datetime.time | None = None

    def order(self, time: datetime.time) -> tuple[bool, datetime.time]:
        """Orders the event's times: those of the night come after the day's."""
        return self.night is not None and time <= self.night, time


@dataclass(frozen=True, slots=True)
class Entry:
    """One absence entry; the one ``made`` later is later, of two made at once the higher number."""

    number: int
    said: Said
    event: int | None = None
    slot: int | None = None
    from_date: datetime.date | None = None
    until_date: datetime.date | None = None
    late_until: datetime.time | None = None
    leaves_at: datetime.time | None = None
    chance: Decimal = Decimal(1)
    made: datetime.datetime = ALWAYS


@dataclass(frozen=True, slots=True)
class Standing:
    """A member's state for a segment with the chance of being out and the entry that decided."""

    state: State = State.IN
    chance: Decimal = Decimal(0)
    entry: int | None = None

    @property
    def word(self) -> str:
        """'out', 'doubtful', or nothing for somebody who is there; never a chance or a reason."""
        if self.state is State.IN:
            return ""
        return "doubtful" if self.state is State.DOUBTFUL else "out"

    def is_away(self, out_from: Decimal) -> bool:
        """True when the lineup must do without them (doubtful from the chance ``out_from``)."""
        if self.state is State.DOUBTFUL:
            return self.chance >= out_from
        return self.state is not State.IN


def one_night(slots: Iterable[Slot]) -> list[Slot]:
    """All slots of one event, told how long it goes on: what ends at or before its start ends
    after midnight."""
    known = list(slots)
    night = max((slot.ends for slot in known if slot.ends <= slot.starts), default=None)
    return [replace(slot, night=night) for slot in known]


def standing(slot: Slot, entries: Iterable[Entry]) -> Standing:
    """The member's standing for the segment after all their entries."""
    result = Standing()
    for entry in sorted(entries, key=lambda e: (e.made, e.number)):
        if speaks_of(entry, slot):
            result = _said(entry, slot)
    return result


def speaks_of(entry: Entry, slot: Slot) -> bool:
    """True when the entry is about the segment."""
    if entry.slot is not None:
        return entry.slot == slot.key
    if entry.event is not None:
        return entry.event == slot.event
    if entry.from_date is None:
        return False
    until = entry.until_date or datetime.date.max
    return entry.from_date <= slot.date <= until


def _said(entry: Entry, slot: Slot) -> Standing:
    missed = {
        Said.OUT: (State.OUT, True),
        Said.LIMITED: (State.LIMITED, True),
        Said.LATE: (State.LATE, _later(slot, entry.late_until, slot.starts)),
        Said.LEAVES: (State.LEAVES, _later(slot, slot.ends, entry.leaves_at)),
    }
    if entry.said is Said.IN:
        return Standing(entry=entry.number)
    if entry.said is Said.DOUBTFUL:
        if entry.chance >= 1:
            return Standing(State.OUT, Decimal(1), entry.number)
        return Standing(State.DOUBTFUL, entry.chance, entry.number)
    state, misses = missed[entry.said]
    return Standing(state, Decimal(1), entry.number) if misses else Standing(entry=entry.number)


def _later(slot: Slot, one: datetime.time | None, other: datetime.time | None) -> bool:
    """True where a time comes after another; whoever gives no time misses all."""
    return one is None or other is None or slot.order(one) > slot.order(other)
