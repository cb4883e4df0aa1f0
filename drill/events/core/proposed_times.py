"""Usual times for the segments of an event that nobody has timed yet.

They lie around the kick-off, as game days commonly go (no source); a rehearsal is one block after
the other.
"""

from __future__ import annotations

import datetime
from collections.abc import Sequence
from dataclasses import dataclass

DAY_LENGTH, LAST_START = 24 * 60, 23 * 60 + 30
AROUND = {
    "pregame": (-20, 15),
    "halftime": (80, 20),
    "parade": (0, 60),
    "stands": (105, 100),
    "duty": (-60, 30),
}
"""kind of segment -> minutes from the kick-off, or from where a parade sets out; how long"""
BLOCK, GAP = 45, 5
"""minutes of a block of a rehearsal, and between two segments"""
CALLED_BEFORE = {"game": 210, "parade": 60, "rehearsal": 15}
"""minutes from the call to the start, by what an event is"""
CALL = 12 * 60
"""when everybody is called where nothing is said"""

Span = tuple[int, int]
"""start and end, in minutes of the day"""


@dataclass(frozen=True)
class Slot:
    """A segment: its kind, and the times it has."""

    kind: str
    starts: datetime.time | None = None
    ends: datetime.time | None = None


def proposed_times(
    slots: Sequence[Slot],
    call: datetime.time | None,
    start: datetime.time | None,
    *,
    rehearsal: bool,
) -> list[tuple[datetime.time, datetime.time]]:
    """The times of each slot: its own, else usual ones that overlap no other slot.

    ``start`` is the kick-off, or when the parade or rehearsal begins.
    """
    zero = _zero(slots, call, start, rehearsal=rehearsal)
    spans = {n: span for n, slot in enumerate(slots) if (span := _own(slot))}
    usual = {n: _usual(slot, zero, rehearsal=rehearsal) for n, slot in enumerate(slots)}
    for n in sorted(usual.keys() - spans.keys(), key=lambda n: (usual[n][0], n)):
        spans[n] = _free(usual[n], list(spans.values()))
    return [_times(spans[n]) for n in range(len(slots))]


def _minutes(time: datetime.time) -> int:
    return time.hour * 60 + time.minute


def _own(slot: Slot) -> Span | None:
    """The times a slot has; its usual length where it has no end."""
    if slot.starts is None:
        return None
    starts = _minutes(slot.starts)
    ends = starts + _length(slot) if slot.ends is None else _minutes(slot.ends)
    return starts, ends if ends > starts else ends + DAY_LENGTH


def _length(slot: Slot) -> int:
    return AROUND[slot.kind][1] if slot.kind in AROUND else BLOCK


def _zero(
    slots: Sequence[Slot],
    call: datetime.time | None,
    start: datetime.time | None,
    *,
    rehearsal: bool,
) -> int:
    """The minute around which the segments lie: as said, else as a timed segment tells, else so
    long after the call."""
    if start is not None:
        return _minutes(start)
    for slot in slots:
        if slot.starts is not None and slot.kind in AROUND and not rehearsal:
            return _minutes(slot.starts) - AROUND[slot.kind][0]
    in_game = any(slot.kind in ("pregame", "halftime", "stands") for slot in slots)
    what = "rehearsal" if rehearsal else "game" if in_game else "parade"
    return (CALL if call is None else _minutes(call)) + CALLED_BEFORE[what]


def _usual(slot: Slot, zero: int, *, rehearsal: bool) -> Span:
    if rehearsal or slot.kind not in AROUND:
        return zero, zero + BLOCK
    offset, length = AROUND[slot.kind]
    return zero + offset, zero + offset + length


def _free(span: Span, taken: Sequence[Span]) -> Span:
    """The span, moved behind those that it would overlap."""
    starts, ends = span
    for other in sorted(taken):
        if starts < other[1] and other[0] < ends:
            starts, ends = other[1] + GAP, other[1] + GAP + ends - starts
    return starts, ends


def _times(span: Span) -> tuple[datetime.time, datetime.time]:
    """By the clock; what would begin on another day begins at the edge of this one."""
    starts = min(max(span[0], 0), LAST_START) if span[0] < 0 or span[0] >= DAY_LENGTH else span[0]
    return _clock(starts), _clock(starts + span[1] - span[0])


def _clock(minutes: int) -> datetime.time:
    return datetime.time(minutes // 60 % 24, minutes % 60)
