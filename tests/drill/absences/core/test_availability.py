"""Availability: later entries win, times are held against the segment's."""

from __future__ import annotations

import datetime
from decimal import Decimal

import pytest

from drill.absences.core.availability import Entry, Said, Slot, State, one_night, standing
from drill.absences.enums import AbsenceKind

DAY = datetime.date(2026, 10, 17)
HALF = Slot(2, 1, DAY, datetime.time(15, 50), datetime.time(16, 10))
PRE = Slot(1, 1, DAY, datetime.time(14), datetime.time(14, 20))


def out(
    number: int = 1,
    said: Said = Said.OUT,
    slot: int | None = None,
    late_until: datetime.time | None = None,
    leaves_at: datetime.time | None = None,
    chance: Decimal = Decimal(1),
) -> Entry:
    """An entry about the event."""
    return Entry(
        number,
        said,
        event=1,
        slot=slot,
        late_until=late_until,
        leaves_at=leaves_at,
        chance=chance,
    )


def test_without_entries_everybody_is_in() -> None:
    assert standing(HALF, []).state is State.IN


def test_an_entry_for_a_segment_leaves_the_others_alone() -> None:
    entry = out(slot=2)
    assert standing(HALF, [entry]).state is State.OUT
    assert standing(PRE, [entry]).state is State.IN


def test_the_latest_entry_wins_in_whatever_order_they_come() -> None:
    entries = [out(2, Said.IN), out(1)]
    assert standing(HALF, entries).state is State.IN
    assert standing(HALF, [*entries, out(3, Said.LIMITED)]).state is State.LIMITED


@pytest.mark.parametrize(
    ("first", "last", "away"),
    [(17, 17, True), (18, None, False), (10, None, True), (10, 16, False), (16, 17, True)],
)
def test_dates_include_both_ends(first: int, last: int | None, away: bool) -> None:
    entry = Entry(
        1,
        Said.OUT,
        from_date=datetime.date(2026, 10, first),
        until_date=datetime.date(2026, 10, last) if last else None,
    )
    assert (standing(HALF, [entry]).state is State.OUT) is away


def test_late_and_leaving_are_held_against_the_segments_times() -> None:
    late = out(said=Said.LATE, late_until=datetime.time(14, 30))
    assert standing(PRE, [late]).state is State.LATE
    assert standing(HALF, [late]).state is State.IN
    on_time = out(said=Said.LATE, late_until=datetime.time(15, 50))
    assert standing(HALF, [on_time]).state is State.IN, "there when it starts"
    leaves = out(said=Said.LEAVES, leaves_at=datetime.time(16))
    assert standing(HALF, [leaves]).state is State.LEAVES
    assert standing(PRE, [leaves]).state is State.IN


@pytest.mark.parametrize(("chance", "away"), [("0.49", False), ("0.5", True), ("1", True)])
def test_the_doubtful_are_planned_without_from_the_setting_on(chance: str, away: bool) -> None:
    result = standing(HALF, [out(said=Said.DOUBTFUL, chance=Decimal(chance))])
    assert result.is_away(Decimal("0.5")) is away


def test_every_kind_of_absence_means_something_for_a_segment() -> None:
    assert AbsenceKind.values == [said.value for said in Said]
    for said in Said:
        assert standing(PRE, [out(said=said, chance=Decimal("0.3"))]).entry == 1


LATE_GAME = datetime.time(21), datetime.time(21, 20)
AFTER_MIDNIGHT = datetime.time(23, 30), datetime.time(0, 30)
NIGHT = one_night([Slot(1, 1, DAY, *LATE_GAME), Slot(2, 1, DAY, *AFTER_MIDNIGHT)])


@pytest.mark.parametrize(
    ("said", "time", "misses"),
    [
        (Said.LEAVES, datetime.time(0, 15), [False, True]),
        (Said.LEAVES, datetime.time(0, 30), [False, False]),
        (Said.LEAVES, datetime.time(23, 45), [False, True]),
        (Said.LEAVES, datetime.time(21, 10), [True, True]),
        (Said.LATE, datetime.time(0, 15), [True, True]),
        (Said.LATE, datetime.time(22), [True, False]),
        (Said.LATE, datetime.time(20, 59), [False, False]),
    ],
)
def test_a_time_of_the_night_comes_after_those_of_the_evening(
    said: Said, time: datetime.time, misses: list[bool]
) -> None:
    entry = out(said=said, **{"late_until" if said is Said.LATE else "leaves_at": time})  # type: ignore[arg-type]
    assert [standing(slot, [entry]).state is not State.IN for slot in NIGHT] == misses


def test_an_event_of_the_day_knows_no_night() -> None:
    assert one_night([PRE, HALF]) == [PRE, HALF]
