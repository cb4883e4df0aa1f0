"""What notes come to: the same whatever the order in which they arrived."""

from __future__ import annotations

import datetime
import itertools
import random

from hypothesis import given
from hypothesis import strategies as st

from drill.rehearsals.core.attendance import Note, Outcome, decide

START = datetime.datetime(2099, 10, 15, 17, tzinfo=datetime.UTC)
STATES = ("present", "late", "left", "absent")


def note(key: str, by: str, state: str, minute: int, settles: bool = False) -> Note:
    return Note(key, by, state, START + datetime.timedelta(minutes=minute), settles)


@st.composite
def several_notes(draw: st.DrawFn) -> list[Note]:
    """Few people, few moments: many ties."""
    count = draw(st.integers(0, 6))
    return [
        note(
            str(n),
            draw(st.sampled_from(("ana", "bo", "staff", ""))),
            draw(st.sampled_from(STATES[:3])),
            draw(st.integers(0, 3)),
            draw(st.booleans()),
        )
        for n in range(count)
    ]


def plainly(notes: list[Note]) -> Outcome:
    """The rule once more, note by note: one counts unless a later one is by the same person or
    settles."""

    def later(a: Note, b: Note) -> bool:
        return (a.at, a.settles, a.key) > (b.at, b.settles, b.key)

    def counts(one: Note) -> bool:
        return not any(
            later(other, one) and (other.settles or (other.by == one.by and one.by != ""))
            for other in notes
        )

    made = sorted(notes, key=lambda n: (n.at, n.settles, n.key))
    counting = tuple(n for n in made if counts(n))
    states = {n.state for n in counting}
    state = next(iter(states)) if len(states) == 1 else None
    return Outcome(state, counting, tuple(n for n in made if n not in counting))


@given(several_notes())
def test_the_rule_holds_note_by_note(notes: list[Note]) -> None:
    assert decide(notes) == plainly(notes)


@given(several_notes(), st.randoms(use_true_random=False))
def test_the_order_of_arrival_changes_nothing(notes: list[Note], chance: random.Random) -> None:
    mixed = list(notes)
    chance.shuffle(mixed)
    assert decide(mixed) == decide(notes)


def test_every_order_of_arrival_of_a_long_evening() -> None:
    """All 720 orders, offline phones included."""
    evening = [
        note("a", "ana", "absent", 0),
        note("b", "bo", "present", 5),
        note("c", "ana", "present", 5),
        note("d", "bo", "left", 30),
        note("e", "staff", "left", 40, settles=True),
        note("f", "ana", "left", 45),
    ]
    outcomes = {decide(order) for order in itertools.permutations(evening)}
    assert len(outcomes) == 1
    assert outcomes.pop().state == "left"


def test_of_each_noter_the_latest_counts() -> None:
    outcome = decide([note("a", "ana", "absent", 0), note("b", "ana", "late", 9)])
    assert (outcome.state, outcome.differs) == ("late", False)
    assert [n.key for n in outcome.counting] == ["b"] and [n.key for n in outcome.behind] == ["a"]


def test_two_noters_who_differ_leave_it_open_and_both_are_kept() -> None:
    outcome = decide([note("a", "ana", "present", 2), note("b", "bo", "absent", 5)])
    assert (outcome.state, outcome.differs) == (None, True)
    assert [n.by for n in outcome.counting] == ["ana", "bo"]


def test_nobody_has_noted() -> None:
    assert decide([]) == Outcome(None, (), ())
    assert not decide([]).differs


def test_settling_ends_it_until_a_later_note_differs() -> None:
    settled = [
        note("a", "ana", "present", 2),
        note("b", "bo", "absent", 5),
        note("s", "staff", "absent", 9, settles=True),
    ]
    assert decide(settled).state == "absent"
    same = [*settled, note("c", "ana", "absent", 12)]
    assert decide(same).state == "absent"
    again = [*settled, note("c", "ana", "present", 12)]
    assert decide(again).differs


def test_whoever_settled_may_think_again_alone() -> None:
    notes = [
        note("a", "ana", "present", 2),
        note("b", "bo", "absent", 5),
        note("s", "ana", "absent", 9, settles=True),
        note("t", "ana", "late", 12),
    ]
    assert decide(notes).state == "late"


def test_a_note_made_before_the_settling_one_arrives_too_late() -> None:
    notes = [note("s", "staff", "present", 9, settles=True), note("b", "bo", "absent", 8)]
    outcome = decide(notes)
    assert outcome.state == "present" and [n.key for n in outcome.behind] == ["b"]


def test_notes_of_former_accounts_stand_each_for_itself() -> None:
    notes = [note("a", "", "present", 2), note("b", "", "absent", 5)]
    assert decide(notes).differs
