"""Words compared with coordinates: the difference and the nearest single correction."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from drill.fundamentals.core import STEP, Move, run
from drill.fundamentals.core.against import Comparison, compare
from drill.fundamentals.core.corrections import Change
from drill.fundamentals.core.words import read_words
from tests.drill.fundamentals.core.built_in import BUILT_IN
from tests.drill.fundamentals.core.test_engine import moves

START = (120.0, 900.0)


def against(text: str, across: float, depth: float, counts: int, facing: float = 0) -> Comparison:
    """The words against a coordinate that many steps to the right and away."""
    target = (START[0] + across * STEP, START[1] + depth * STEP)
    return compare(
        read_words(text, BUILT_IN),
        BUILT_IN,
        start=START,
        target=target,
        counts=counts,
        facing=facing,
    )


def test_words_that_meet_the_coordinate() -> None:
    it = against("forward 8, left flank, forward 8", -8, 8, 16)
    assert it.meets
    assert it.correction is None
    assert (it.across, it.depth) == pytest.approx((0, 0))


def test_rounding_to_quarter_steps_is_no_difference() -> None:
    assert against("forward 8", 0.25, 8, 8).meets
    assert not against("forward 8", 0.3, 8, 8).meets


def test_the_difference_each_way() -> None:
    it = against("forward 8", 2, 6, 8)
    assert (it.across, it.depth) == pytest.approx((45, -45))


@pytest.mark.parametrize(
    ("text", "across", "depth", "counts", "kind", "index", "after"),
    [
        ("forward 8, left flank, forward 8", -4, 8, 12, Change.COUNTS, 2, 4),
        ("mark time 4, forward 8", 0, 8, 16, Change.COUNTS, 0, 8),
        ("forward 8, left flank, forward 8", -6, 8, 16, Change.STEP, 2, 16.88),
        ("forward 8, left flank, forward 8", -6, 6, 16, Change.EVERY_STEP, None, 16.88),
        ("forward 8, left flank, forward 8", 8, 8, 16, Change.MOVE, 1, "right-flank"),
        ("slide left 8", 8, 0, 8, Change.MOVE, 0, "lateral-slide-right"),
        ("forward 8", 0, -8, 8, Change.MOVE, 0, "backward"),
        ("forward 8, left flank, forward 4", -4, 8, 16, Change.WAIT, None, 4),
        ("forward 4, left flank, forward 8", 4, 8, 12, Change.FACING, None, -90),
        ("left 8", 8, 0, 8, Change.MOVE, 0, "lateral-slide-right"),
        ("forward 8, toward side 1 8", 8, 8, 16, Change.TOWARD, 1, -90),
        ("left oblique 8", 5.65685, 5.65685, 8, Change.MOVE, 0, "right-oblique"),
    ],
)
def test_the_nearest_single_correction(
    text: str,
    across: float,
    depth: float,
    counts: int,
    kind: Change,
    index: int | None,
    after: float | str,
) -> None:
    it = against(text, across, depth, counts).correction
    assert it is not None
    assert (it.kind, it.index) == (kind, index)
    assert it.after == (after if isinstance(after, str) else pytest.approx(after, abs=0.011))
    assert it.is_right


def test_counts_that_do_not_add_up_are_told_though_the_end_is_right() -> None:
    it = against("forward 8, halt", 0, 8, 8)
    assert it.distance == pytest.approx(0)
    assert it.counts_off == 1
    assert not it.meets


def test_along_the_field_whatever_they_face() -> None:
    for facing in (0, 90, 180, -90):
        assert against("toward side 1 8", -8, 0, 8, facing).meets


@pytest.mark.parametrize("text", ["trail 16", "forward 8, line swing left 8"])
def test_what_goes_as_drawn_does_not_disagree(text: str) -> None:
    it = against(text, 3, 5, 16)
    assert it.meets and it.as_drawn
    assert it.correction is None
    assert not against(text, 3, 5, 12).meets


def test_a_correction_may_leave_something() -> None:
    it = against("forward 8", 3, 5, 8)
    assert it.correction is not None
    assert not it.correction.is_right
    assert it.correction.left < it.distance


@given(st.lists(moves(), min_size=1, max_size=3), st.floats(-300, 300), st.floats(-300, 300))
def test_a_correction_tells_the_truth(routine: list[Move], across: float, depth: float) -> None:
    counts = run(routine).counts
    target = (START[0] + across, START[1] + depth)
    it = compare(routine, BUILT_IN, start=START, target=target, counts=counts, facing=0)
    if it.correction is None:
        return
    done = run(it.correction.moves, start=START, facing=it.correction.facing)
    left = ((done.end[0] - target[0]) ** 2 + (done.end[1] - target[1]) ** 2) ** 0.5
    assert left == pytest.approx(it.correction.left)
    assert left < it.distance or it.correction.counts_off == 0
    changed = sum(a != b for a, b in zip(routine, it.correction.moves, strict=False))
    assert changed <= 1 or it.correction.kind is Change.EVERY_STEP
