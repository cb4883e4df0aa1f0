"""The marching record: what is guessed at first, and the share of chances in which somebody
marched."""

from __future__ import annotations

import datetime
from decimal import ROUND_HALF_UP, Decimal

import pytest

from drill.absences.core.availability import Entry, Said, Slot
from drill.record.core.record import Outcome, RecordCounts, counted, first_guess, from_lineups
from drill.record.enums import RecordOutcome

HALF = Decimal("0.5")


def test_the_outcomes_are_those_of_the_table() -> None:
    assert [o.value for o in Outcome] == RecordOutcome.values


@pytest.mark.source("General Decimal Arithmetic, round-half-up, as in Python's decimal")
def test_the_share_is_a_whole_percentage_a_half_rounded_up() -> None:
    for available in range(1, 90):
        for marched in range(available + 1):
            exact = Decimal(100 * marched) / available
            expected = int(exact.quantize(Decimal(1), ROUND_HALF_UP))
            assert RecordCounts(marched=marched, available=available).percent == expected
    assert RecordCounts(marched=1, available=8).percent == 13, "12.5"
    assert RecordCounts().percent == 0, "no chance yet"


def test_what_counts_as_a_chance() -> None:
    """Marched, stood by, offered; whoever stayed away keeps the share they had."""
    counts = counted(marched=2, stood_by=1, offered=1)
    assert (counts.available, counts.percent) == (4, 50)
    assert (counts + RecordCounts(marched=1, available=1)).percent == 60


@pytest.mark.parametrize(
    ("placed", "away", "has_place", "guess"),
    [
        (True, False, True, Outcome.MARCHED),
        (True, True, True, Outcome.MISSED),
        (False, False, True, Outcome.STOOD_BY),
        (False, True, True, Outcome.AWAY),
        (False, False, False, Outcome.AWAY),
        (True, False, False, Outcome.MARCHED),
    ],
)
def test_the_first_guess(placed: bool, away: bool, has_place: bool, guess: Outcome) -> None:
    assert first_guess(placed=placed, away=away, has_place=has_place) is guess


def slot(key: int, event: int, day: int, hour: int) -> Slot:
    return Slot(
        key, event, datetime.date(2099, 9, day), datetime.time(hour), datetime.time(hour, 20)
    )


def test_what_is_not_confirmed_counts_as_published() -> None:
    """Four segments of two events. One marched all; two marched two and was out of one; three was
    placed twice and late for the first of them; four was never placed."""
    slots = {
        s.key: s
        for s in (slot(1, 1, 5, 14), slot(2, 1, 5, 16), slot(3, 2, 12, 14), slot(4, 2, 12, 16))
    }
    placed = [(1, 1), (1, 2), (1, 3), (1, 4), (2, 1), (2, 2), (3, 3), (3, 4)]
    entries = {
        2: [Entry(1, Said.OUT, event=2, slot=4)],
        3: [Entry(2, Said.LATE, event=2, late_until=datetime.time(15))],
        4: [Entry(3, Said.DOUBTFUL, event=1, chance=Decimal("0.4"))],
    }
    found = from_lineups(slots, placed, entries, [1, 2, 3, 4, 5], HALF, {})
    assert {pk: (c.marched, c.available, c.percent) for pk, c in found.items()} == {
        1: (4, 4, 100),
        2: (2, 3, 67),
        3: (1, 3, 33),
        4: (0, 4, 0),
        5: (0, 4, 0),
    }
