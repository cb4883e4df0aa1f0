"""Properties of the engine: moves compose, mirror, go back; steps keep their length."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from drill.fundamentals.core import (
    BadDefinition,
    Foot,
    Fundamental,
    Move,
    definition_of,
    load,
    mirrored,
    read,
    reversed_moves,
    run,
)
from tests.drill.fundamentals.core.built_in import BUILT_IN, EPSILON, move

MARCHING = (
    "forward",
    "backward",
    "quarter-curve-left",
    "feet-right-horns-kept",
    "lateral-slide-left",
)


@st.composite
def moves(draw: st.DrawFn) -> Move:
    it = BUILT_IN[draw(st.sampled_from(sorted(BUILT_IN)))]
    counts = it.counts or 0
    if it.any_counts:
        counts = draw(st.integers(2, 12))
    return Move(it, counts)


sequences = st.lists(moves(), min_size=1, max_size=6)
facings = st.sampled_from([0.0, 90.0, 180.0, 33.0, -270.0])


@given(sequences, sequences, facings)
def test_moves_compose(first: list[Move], second: list[Move], facing: float) -> None:
    whole = run(first + second, start=(40, 90), facing=facing)
    half = run(first, start=(40, 90), facing=facing)
    rest = run(second, start=half.end, facing=half.facing)
    assert whole.points == pytest.approx(np.vstack([half.points, rest.points[1:]]), abs=EPSILON)
    assert whole.facing == pytest.approx(rest.facing)


@given(sequences)
def test_a_mirrored_routine_mirrors_x(routine: list[Move]) -> None:
    plain, other = run(routine), run(mirrored(routine), foot=Foot.RIGHT)
    assert other.points == pytest.approx(plain.points * (-1, 1), abs=EPSILON)
    assert other.facings == pytest.approx(-plain.facings, abs=EPSILON)
    assert other.horns == pytest.approx(-plain.horns, abs=EPSILON)


@given(sequences)
def test_mirroring_twice_changes_nothing(routine: list[Move]) -> None:
    assert mirrored(mirrored(routine)) == tuple(routine)


@given(sequences, facings)
def test_the_way_back_returns(routine: list[Move], facing: float) -> None:
    there = run(routine, start=(10, 20), facing=facing)
    back = run(reversed_moves(routine), start=there.end, facing=there.facing)
    assert back.points == pytest.approx(there.points[::-1], abs=EPSILON)
    assert back.facing == pytest.approx(facing, abs=EPSILON)


@given(st.sampled_from(["left-flank", "right-flank"]), st.integers(1, 16), facings)
def test_four_flanks_close(flank: str, counts: int, facing: float) -> None:
    done = run([move("forward", counts), move(flank)] * 4, start=(5, 6), facing=facing)
    assert done.end == pytest.approx((5, 6), abs=EPSILON)
    assert done.facing - facing == pytest.approx(360 if flank == "left-flank" else -360)


@given(st.sampled_from(MARCHING), st.integers(2, 16), facings, st.floats(10, 40))
def test_every_step_keeps_its_length(code: str, counts: int, facing: float, step: float) -> None:
    done = run([move(code, counts)], facing=facing, step=step)
    lengths = np.linalg.norm(np.diff(done.points, axis=0), axis=1)
    assert lengths == pytest.approx([step] * counts)


@given(sequences)
def test_feet_alternate_and_tell_the_counts(routine: list[Move]) -> None:
    done = run(routine)
    assert len(done.points) == len(done.facings) == len(done.horns) == done.counts + 1
    assert done.ends[-1] == done.counts
    assert all(1 <= p.count <= done.counts for p in done.prints)
    stops = {e for e, m in zip(done.ends, routine, strict=True) if m.fundamental.stops}
    for one, two in zip(done.prints, done.prints[1:], strict=False):
        if two.count == one.count + 1 and one.count not in stops:
            assert one.foot is not two.foot


def test_horns_stay_where_they_looked_that_are_kept() -> None:
    done = run([move("forward", 4), move("feet-left-horns-kept", 8)])
    assert done.end == pytest.approx((-180, 90))
    assert done.facing == 90
    assert done.horns[5:].tolist() == [0] * 8


def test_a_move_has_its_own_step() -> None:
    it = BUILT_IN["forward"]
    assert run([Move(it, 8, step=30.0), Move(it, 8)]).end == pytest.approx((0, 240 + 180))


@given(st.sampled_from(sorted(BUILT_IN)))
def test_a_definition_survives_writing_and_reading(code: str) -> None:
    assert read(definition_of(BUILT_IN[code])) == BUILT_IN[code]


@pytest.mark.parametrize(
    ("definition", "says"),
    [
        ({"code": "x"}, "x: "),
        ({"code": "x", "name": "hop"}, "hop: say how many counts it takes."),
        ({"code": "x", "name": "hop", "counts": 2, "path": [[0, 1]] * 3}, "3 steps do not fit"),
        ({"code": "x", "name": "hop", "counts": 1, "path": [[0, 9]]}, "at most 4 steps"),
        ({"code": "x", "name": "hop", "counts": 1, "path": [[0]]}, "a step is two numbers"),
        ({"code": "x", "name": "hop", "counts": 1, "path": [["a", 0]]}, "hop: "),
        ({"code": "x", "name": "hop", "counts": 4, "turn_from": 3, "turn_to": 2}, "before it"),
        ({"code": "x", "name": "hop", "counts": 4, "turn_to": 5}, "after the last count"),
        ({"code": "x", "name": "hop", "counts": 2, "turn_after": [90]}, "one angle a count"),
        ({"code": "x", "name": "hop", "counts": 2, "turn": 90, "turn_after": [0, 45]}, "whole"),
        ({"code": "x", "name": "hop", "counts": 2, "jump": 1}, "“jump” is not part"),
        ({"code": "x", "name": "hop", "counts": 2, "pivot": "nose"}, "hop: "),
        ({"code": "x", "name": "hop", "counts": float("nan")}, "hop: "),
        ({"code": "x", "name": "hop", "counts": 2, "path": []}, "at least one step"),
    ],
)
def test_what_cannot_be_marched_is_refused_by_name(
    definition: dict[str, object], says: str
) -> None:
    with pytest.raises(BadDefinition, match=says):
        read(definition)


def test_a_code_is_there_once() -> None:
    hop = definition_of(Fundamental(code="hop", name="hop", counts=1))
    with pytest.raises(BadDefinition, match="twice"):
        load([hop, hop])


def test_a_turn_on_one_count_with_gaps_counted_is_a_turn_at_once() -> None:
    it = read(
        {
            "code": "snap",
            "name": "snap",
            "counts": 4,
            "path": [[0, 1]],
            "turn": 90,
            "turn_from": 2,
            "turn_to": 2,
            "counting": "intervals",
        }
    )
    assert it.headings(4) == (0, 90, 90, 90)
