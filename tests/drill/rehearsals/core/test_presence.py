"""Who is at a performance, by the notes about them."""

from __future__ import annotations

import datetime

import pytest

from drill.rehearsals.core.attendance import Note, decide
from drill.rehearsals.core.presence import Presence, at_performance, presence
from drill.rehearsals.enums import AttendanceState

DAY = datetime.datetime(2099, 10, 17, tzinfo=datetime.UTC)


def at(hour: int, minute: int = 0) -> datetime.datetime:
    return DAY + datetime.timedelta(hours=hour, minutes=minute)


def seen(*notes: tuple[str, str, int]) -> Presence:
    """By (hand, state, minutes after eleven)."""
    made = [Note(str(i), by, state, at(11, m)) for i, (by, state, m) in enumerate(notes)]
    return presence(decide(made))


def test_the_latest_word_counts_unless_it_misses_somebody_seen() -> None:
    for notes, state, differs in (
        ([("leader", "absent", 0), ("leader", "late", 20)], "late", False),
        ([("leader", "absent", 0), ("staff", "present", 20)], "present", False),
        ([("leader", "present", 0), ("staff", "left", 20)], "left", False),
        ([("leader", "present", 0), ("staff", "absent", 20)], None, True),
        ([("leader", "present", 0), ("leader", "absent", 20)], "absent", False),
        ([("leader", "absent", 0), ("staff", "absent", 20)], "absent", False),
        ([], None, False),
    ):
        found = seen(*notes)
        assert (found.state, found.differs) == (state, differs), notes
    made = [Note("a", "leader", "absent", at(11)), Note("b", "staff", "present", at(12))]
    assert decide(made).differs and not at_performance(decide(made)).differs


@pytest.mark.parametrize(
    ("state", "noted", "pregame", "halftime"),
    [
        ("present", at(11), True, True),
        ("absent", at(11), False, False),
        ("late", at(11, 20), True, True),
        ("late", at(14, 10), True, True),
        ("late", at(14, 20), False, True),
        ("late", at(20), True, True),
        ("left", at(14, 10), True, False),
        ("left", at(16, 10), True, True),
        ("left", at(13), False, False),
    ],
)
def test_who_was_there_for_what(
    state: str, noted: datetime.datetime, pregame: bool, halftime: bool
) -> None:
    """Pregame 2:00 to 2:20, halftime 4:00 to 4:20, over at 6:00."""
    found, over = Presence(state, noted), at(18)
    assert found.was_in(at(14), at(14, 20), over) is pregame
    assert found.was_in(at(16), at(16, 20), over) is halftime


def test_without_a_word_nobody_knows() -> None:
    assert Presence().was_in(at(14), at(15), at(18)) is None
    assert Presence(at=at(11), differs=True).was_in(at(14), at(15), at(18)) is None


def test_the_states_are_those_of_the_table() -> None:
    known = {state for state in AttendanceState.values if Presence(state, at(11)).state == state}
    assert known == {"present", "late", "left", "absent"}
