"""The marching record: what a member did in a segment, and the share of their chances in which
they marched.

A chance is a segment of a performance for which the member was there: they marched it, stood by
in uniform, or were offered a spot and did not march. Whoever was placed but did not come, and
whoever was away, had none, so that staying away neither helps nor harms anybody later. The share
is a whole percentage, a half rounded up. How the record is counted is common practice, no source.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from enum import StrEnum

from drill.absences.core.availability import Entry, Slot, standing


class Outcome(StrEnum):
    """What a member did in one segment."""

    MARCHED = "marched"
    STOOD_BY = "stood by"
    OFFERED = "offered"
    MISSED = "missed"
    AWAY = "away"


@dataclass(frozen=True, slots=True)
class RecordCounts:
    """A member's segments; ``available`` counts all their chances."""

    marched: int = 0
    stood_by: int = 0
    offered: int = 0
    available: int = 0

    @property
    def percent(self) -> int:
        """0 to 100; 0 for whoever had no chance yet."""
        if not self.available:
            return 0
        return (200 * self.marched + self.available) // (2 * self.available)

    def __add__(self, other: RecordCounts) -> RecordCounts:
        return RecordCounts(
            self.marched + other.marched,
            self.stood_by + other.stood_by,
            self.offered + other.offered,
            self.available + other.available,
        )


def first_guess(*, placed: bool, away: bool, has_place: bool) -> Outcome:
    """What most likely happened, from the lineup and the absences."""
    if placed:
        return Outcome.MISSED if away else Outcome.MARCHED
    return Outcome.STOOD_BY if has_place and not away else Outcome.AWAY


def counted(marched: int, stood_by: int, offered: int) -> RecordCounts:
    """The counts of confirmed segments."""
    return RecordCounts(marched, stood_by, offered, marched + stood_by + offered)


def from_lineups(
    slots: Mapping[int, Slot],
    placed: Iterable[tuple[int, int]],
    entries: Mapping[int, list[Entry]],
    members: Iterable[int],
    out_from: Decimal,
    seen: Mapping[tuple[int, int], bool],
) -> dict[int, RecordCounts]:
    """The counts of segments nobody has confirmed yet: whoever is placed and was not away counts
    as having marched. ``placed`` holds (member, segment), ``seen`` what the attendance says of
    them; where it says nothing, the entries count."""
    seats: dict[int, set[int]] = {}
    for member, segment in placed:
        seats.setdefault(member, set()).add(segment)
    found = {}
    for member in members:
        mine = entries.get(member, ())
        away = {k for k, s in slots.items() if _is_away(s, mine, out_from, seen.get((member, k)))}
        marched = len(seats.get(member, set()) - away)
        found[member] = RecordCounts(marched=marched, available=len(slots) - len(away))
    return found


def _is_away(slot: Slot, mine: Sequence[Entry], out_from: Decimal, seen: bool | None) -> bool:
    if seen is not None:
        return not seen
    return bool(mine) and standing(slot, mine).is_away(out_from)
