"""Moves as people say them."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from drill.fundamentals.core import Move, run
from drill.fundamentals.core.words import NotUnderstood, read_words, written
from tests.drill.fundamentals.core.built_in import BUILT_IN, move
from tests.drill.fundamentals.core.test_engine import moves

FORWARD_8 = move("forward", 8)


def read(text: str) -> tuple[Move, ...]:
    return read_words(text, BUILT_IN)


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("forward 8, left flank, forward 8", [FORWARD_8, move("left-flank"), FORWARD_8]),
        ("fwd 8 lf fwd 8", [FORWARD_8, move("left-flank"), FORWARD_8]),
        ("Fwd 8; LF; Fwd 8.", [FORWARD_8, move("left-flank"), FORWARD_8]),
        ("Forward for 8 counts then left-flank 8", [FORWARD_8, move("left-flank"), FORWARD_8]),
        (
            "mark time 4, to the rear, 12 back",
            [move("mark-time", 4), move("to-the-rear"), move("backward", 12)],
        ),
        ("8 forward 4 mark", [FORWARD_8, move("mark-time", 4)]),
        ("slide left 8", [move("lateral-slide-left", 8)]),
        ("horn slide right 8", [move("horn-slide-right", 8)]),
        ("box to the rear", [move("box-to-the-rear")]),
        ("box to-the-rear 4", [move("box-to-the-rear")]),
        ("forward 8 to the rear 8", [FORWARD_8, move("to-the-rear"), FORWARD_8]),
        ("fwd-back to-the-rear", [move("forward-back-to-the-rear")]),
        (
            "step turn left and side-step left 4",
            [move("step-turn-left"), move("side-step-left", 4)],
        ),
        ("slow turn left 8", [move("slow-turn-left", 8)]),
        ("spin", [move("spin-turn", 4)]),
        ("forward 8 at 6 to 5", [Move(BUILT_IN["forward"], 8, step=30.0)]),
        ("forward 8 (12-to-5), halt", [Move(BUILT_IN["forward"], 8, step=15.0), move("halt")]),
        ("fwd 8 5.625 to 5", [Move(BUILT_IN["forward"], 8, step=32.0)]),
    ],
)
def test_words_as_people_say_them(text: str, expected: list[Move]) -> None:
    assert read(text) == tuple(expected)


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("", "There is no move"),
        ("facing front", "There is no move"),
        ("forward 8, skip 4", "“skip” is not understood"),
        ("forwrad 8", "Did you mean “forward”?"),
        ("forward", "Say for how many counts: “forward march”"),
        ("forward 8.5", "“8.5” is no whole number"),
        ("forward 8x4", "“8x4” is no whole number"),
        ("forward 0", "not “0”"),
        ("forward 99999999999", "Counts go from 1"),
        ("forward ٣", "“٣”"),
        ("forward 8 8", "what the 8 belongs to"),
        ("8", "what the 8 belongs to"),
        ("box 6", "takes 4 counts, not 6"),
        ("forward 8 at 1 to 5", "Nobody steps 1 to 5"),
        ("at 6 to 5, forward 8", "after the move"),
        ("fwd 1 " * 41, "more than 40 moves"),
    ],
)
def test_words_that_are_not_understood_are_named(text: str, says: str) -> None:
    with pytest.raises(NotUnderstood) as error:
        read(text)
    assert says in str(error.value)


@pytest.mark.parametrize(
    ("text", "facing"),
    [("facing front", 180), ("face back field", 0), ("facing side 1", 90), ("face side2", -90)],
)
def test_where_they_look_before_they_move(text: str, facing: float) -> None:
    done = run(read(f"{text}, forward 8"), facing=45)
    assert done.facing == facing
    assert done.counts == 8


def test_side_1_is_left_of_the_press_boxs_view() -> None:
    assert run(read("facing side 1, forward 8")).end == pytest.approx((-180, 0))
    assert run(read("facing front, forward 8")).end == pytest.approx((0, -180))


@given(st.lists(moves(), min_size=1, max_size=6), st.sampled_from(["", "facing front, "]))
def test_what_is_written_is_read_the_same(routine: list[Move], facing: str) -> None:
    there = read(facing + written(routine))
    assert read(written(there)) == there
    assert [m for m in there if m.heading is None] == routine


@given(st.text(alphabet="forwadleftk 1234567890,.-to", max_size=40))
def test_any_text_is_read_or_named(text: str) -> None:
    try:
        run(read(text))
    except NotUnderstood as error:
        assert str(error)
