"""Moves as people say them."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from drill.fundamentals.core import Move, run
from drill.fundamentals.core.words import HEADINGS, NotUnderstood, read_words, written
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
        ("feet right horns kept 8", [move("feet-right-horns-kept", 8)]),
        ("four corners about", [move("four-corners-about")]),
        ("four-corners about 4", [move("four-corners-about")]),
        ("forward 8 to the rear 8", [FORWARD_8, move("to-the-rear"), FORWARD_8]),
        ("up two back two about", [move("up-two-back-two-about")]),
        (
            "two-step quarter left and side-step left 4",
            [move("two-step-quarter-left"), move("side-step-left", 4)],
        ),
        ("quarter curve left 8", [move("quarter-curve-left", 8)]),
        ("three quarters left", [move("three-quarters-left-in-place", 4)]),
        ("forward 8 at 6 to 5", [Move(BUILT_IN["forward"], 8, step=30.0)]),
        ("forward 8 (12-to-5), halt", [Move(BUILT_IN["forward"], 8, step=15.0), move("halt")]),
        ("fwd 8 5.625 to 5", [Move(BUILT_IN["forward"], 8, step=32.0)]),
        ("left 8", [move("lateral-slide-left", 8)]),
        ("to the right 8", [move("lateral-slide-right", 8)]),
        ("8 left, hold 8", [move("lateral-slide-left", 8), move("halt", 8)]),
        ("fwd 8 left 8", [FORWARD_8, move("lateral-slide-left", 8)]),
        ("fwd 8 left flank 8", [FORWARD_8, move("left-flank"), FORWARD_8]),
        ("left oblique 8", [move("left-oblique"), FORWARD_8]),
        ("oblique right", [move("right-oblique")]),
        ("line swing left 8", [move("line-swing-left", 8)]),
        ("TRAIL 16", [move("trail-the-one-ahead", 16)]),
        ("trail the one ahead for 16 counts", [move("trail-the-one-ahead", 16)]),
    ],
)
def test_words_as_people_say_them(text: str, expected: list[Move]) -> None:
    assert read(text) == tuple(expected)


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("", "No move in it"),
        ("facing front", "No move in it"),
        ("forward 8, skip 4", "“skip” is not understood"),
        ("forwrad 8", "Did you mean “forward”?"),
        ("forward", "Say for how many counts: “forward march”"),
        ("forward 8.5", "“8.5” is not a whole number"),
        ("forward 8x4", "“8x4” is not a whole number"),
        ("forward 0", "not “0”"),
        ("forward 99999999999", "Counts go from 1"),
        ("forward ٣", "“٣”"),
        ("forward 8 8", "what the 8 goes with"),
        ("8", "what the 8 goes with"),
        ("four corners 6", "takes 4 counts, not 6"),
        ("forward 8 at 1 to 5", "Nobody marches 1-to-5"),
        ("at 6 to 5, forward 8", "after the move"),
        ("fwd 1 " * 41, "more than 40 moves"),
        (
            "three quarters left right 4",
            "comma between “three quarters left in place” and “lateral slide right”",
        ),
        ("4 right four corners", "comma between “lateral slide right” and “four corners about”"),
        ("toward side 3 8", "“toward” is not understood"),
        ("toward side 1", "Say for how many counts"),
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


@pytest.mark.source("common practice, no source: toward a side is a direction on the field")
@pytest.mark.parametrize("facing", ["front", "back", "side 1", "side 2"])
@pytest.mark.parametrize(
    ("text", "end"),
    [
        ("toward side 1 8", (-180, 0)),
        ("to side 2 for 8", (180, 0)),
        ("8 towards the side2", (180, 0)),
        ("toward the front 8 at 6 to 5", (0, -240)),
        ("to side-1 8, to the back 4", (-180, 90)),
    ],
)
def test_toward_a_side_goes_there_whatever_the_facing(
    text: str, end: tuple[float, float], facing: str
) -> None:
    done = run(read(f"facing {facing}, {text}"))
    assert done.end == pytest.approx(end)
    assert set(done.facings) == {HEADINGS[facing]}


@pytest.mark.source("common practice, no source: left and right are those of who marches")
def test_left_is_the_marchers_own() -> None:
    assert run(read("facing front, left 8")).end == pytest.approx((180, 0))
    assert run(read("facing back, left 8")).end == pytest.approx((-180, 0))
    assert run(read("facing side 1, to the right 4")).end == pytest.approx((0, 90))
    assert run(read("facing back, left 8")).facing == 0


@pytest.mark.source("common practice, no source: an oblique is half a flank")
def test_an_oblique_goes_on_at_45_degrees() -> None:
    done = run(read("forward 8, left oblique 8"))
    assert done.end == pytest.approx((-127.279221, 307.279221))
    assert (done.facing, done.counts) == (45, 16)
    back = run(read("left oblique 8, right oblique 8"))
    assert back.end == pytest.approx((-127.279221, 307.279221))
    assert back.facing == 0


def test_they_may_face_anew_between_two_moves() -> None:
    done = run(read("facing back, forward 8, face side 1, forward 8"))
    assert done.end == pytest.approx((-180, 180))


def test_of_two_that_say_the_same_the_bands_own_counts() -> None:
    own = replace(
        BUILT_IN["three-quarters-left-in-place"], code="whirl", name="whirl", also=("left",)
    )
    (it,) = read_words("left 4", {**BUILT_IN, "whirl": own})
    assert it.fundamental is own


@given(st.sampled_from(list(HEADINGS)), st.integers(1, 32), st.sampled_from(["", " at 6 to 5"]))
def test_ways_along_the_field_are_written_as_they_are_read(
    side: str, counts: int, step: str
) -> None:
    there = read(f"forward 8, toward {side} {counts}{step}")
    assert read(written(there)) == there


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
