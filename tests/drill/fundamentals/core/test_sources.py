"""The engine against tables of worked kinematics; each row is a test."""

from __future__ import annotations

import csv
from typing import Any

import numpy as np
import pytest

from drill.fundamentals.core import Move, run
from drill.fundamentals.core.definition import Counting, Direction, Measured, Pivot, Position
from tests.drill.fundamentals.core.built_in import EPSILON, EXAMPLES, SOURCES, USUAL, move, table

FORWARD_8 = move("forward", 8)
CORNER_MARKS = ((0.0, 1.0), (-1.0, 1.0), (-1.0, 0.0), (0.0, 0.0))
CENTRE_MARKS = ((0.5, 0.5), (-0.5, 0.5), (-0.5, -0.5), (0.5, -0.5))

MOVES: dict[str, list[Move]] = {
    "forward 8": [FORWARD_8],
    "backward 8": [move("backward", 8)],
    "slide left 8 (facing kept)": [move("lateral-slide-left", 8)],
    "mark time 8": [move("mark-time", 8)],
    "fwd 8, left flank, fwd 8": [FORWARD_8, move("left-flank"), FORWARD_8],
    "fwd 8, right flank, fwd 8": [FORWARD_8, move("right-flank"), FORWARD_8],
    "fwd 8, to-the-rear (180 left), fwd 8": [FORWARD_8, move("to-the-rear"), FORWARD_8],
    "fwd 8, to-the-rear, fwd 4": [FORWARD_8, move("to-the-rear"), move("forward", 4)],
    "four left flanks each after fwd 8 (closed square)": [FORWARD_8, move("left-flank")] * 4,
    "three quarters (270) left in place, 4 counts": [move("three-quarters-left-in-place", 4)],
    "fwd 8, 270 left in place (4), fwd 8": [
        FORWARD_8,
        move("three-quarters-left-in-place", 4),
        FORWARD_8,
    ],
    "4 counts: +1,+1,-2 steps, pivot 180 left": [move("up-two-back-two-about")],
    "four corners to the left, start on a corner": [move("four-corners-about")],
    "four corners to the right, start on a corner": [move("four-corners-about", other_side=True)],
}


def source(name: str) -> pytest.MarkDecorator:
    return pytest.mark.source(f"common practice, no source: derived exactly, {name}")


def rows_of_csv() -> list[dict[str, str]]:
    with (SOURCES / "kinematics.csv").open(encoding="utf-8", newline="") as lines:
        return list(csv.DictReader(lines))


def params(name: str) -> list[Any]:
    return [pytest.param(row, marks=source(f"{name}.json")) for row in table(name)]


@pytest.mark.parametrize(
    "row",
    [pytest.param(r, id=r["move"], marks=source("kinematics.csv")) for r in rows_of_csv()],
)
def test_moves_end_where_the_table_says(row: dict[str, str]) -> None:
    done = run(MOVES[row["move"]])
    assert done.counts == int(row["counts"])
    assert done.end == pytest.approx((float(row["dx_in"]), float(row["dy_in"])), abs=EPSILON)
    assert done.facing == float(row["turn_left_deg"])
    assert done.looks == pytest.approx((float(row["face_x"]), float(row["face_y"])), abs=EPSILON)


CORNERS = table("four_corners_about")


@pytest.mark.parametrize(
    "variant",
    [
        pytest.param(v, id=v["id"], marks=source("four_corners_about.json"))
        for v in CORNERS["variants"]
    ],
)
@pytest.mark.parametrize("right", [False, True])
def test_the_four_corners_in_each_way_of_them(variant: dict[str, Any], right: bool) -> None:
    centre = variant["spot"].startswith("centre")
    changed = {"path": CENTRE_MARKS, "position": Position.STILL} if centre else {}
    turns = tuple(float(a) for a in variant["facing_after_count_deg_left"])
    done = run([move("four-corners-about", turn_after=turns, other_side=right, **changed)])
    assert done.facings[1:].tolist() == list(turns)
    assert done.end == pytest.approx(tuple(variant["end"]))
    assert done.looks == pytest.approx(tuple(variant["face"]))
    marks = np.array([(p.x, p.y) for p in done.prints])
    ways = np.linalg.norm(np.diff(marks, axis=0), axis=1)
    assert ways == pytest.approx([CORNERS["step_in"]] * 3)
    assert np.linalg.norm(marks[0] - marks[2]) == pytest.approx(CORNERS["diagonal_in"], abs=EPSILON)
    assert np.linalg.norm(marks[1] - marks[3]) == pytest.approx(CORNERS["diagonal_in"], abs=EPSILON)
    assert ways.sum() + np.linalg.norm(marks[0] - marks[3]) == pytest.approx(
        CORNERS["perimeter_in"]
    )
    if centre:
        assert np.abs(done.points).max() == 0
    else:
        mirror = -1 if right else 1
        expected = [(mirror * x, y) for x, y in CORNERS["marks_counterclockwise"]]
        assert marks == pytest.approx(np.array(expected, dtype=float))
        assert marks.mean(axis=0) == pytest.approx(np.array(CORNERS["centroid"]) * (mirror, 1))


@source("four_corners_about.json")
def test_four_corners_read_by_the_midpoint_of_the_feet_end_half_a_step_aside() -> None:
    done = run([move("four-corners-about", position=Position.MIDPOINT)])
    assert done.end == pytest.approx((-11.25, 0))


@pytest.mark.parametrize("row", params("curves"))
def test_curves_count_by_count(row: dict[str, Any]) -> None:
    first, last = map(int, row["counts"].split("-"))
    total = float(row["total_left_deg"])
    counting = Counting(row["mode"])
    it = move("quarter-curve-left", last, turn=total, turn_from=first, counting=counting)
    done = run([it])
    assert done.facings[1:] == pytest.approx(row["heading_after_each_count"], abs=EPSILON)
    assert done.facing == total
    per_count = np.diff(done.facings)
    assert np.count_nonzero(per_count) == row["increments"]
    assert per_count[-1] == pytest.approx(row["deg_per_count"], abs=EPSILON)


@pytest.mark.parametrize("row", params("curves_while_marching"))
def test_curves_while_marching(row: dict[str, Any]) -> None:
    rule = {"end": Direction.END, "start": Direction.START, "mid": Direction.MIDDLE}
    first, last = map(int, row["counts"].split("-"))
    it = move(
        "quarter-curve-left",
        row["n_counts"],
        turn=float(row["total_left_deg"]),
        turn_from=first,
        turn_to=last,
        direction=rule[row["step_heading_rule"]],
    )
    assert run([it]).end == pytest.approx((row["dx_in"], row["dy_in"]), abs=EPSILON)


@pytest.mark.parametrize("row", params("pivot_offset_general"))
def test_a_pivot_on_a_foot_moves_the_body(row: dict[str, Any]) -> None:
    it = move(
        "left-flank",
        turn=float(row["turn_left_deg"]),
        pivot=Pivot(row["pivot_foot"]),
        stance=float(row["stance_in"]),
    )
    assert run([it]).end == pytest.approx((row["dx_in"], row["dy_in"]), abs=EPSILON)


READINGS = {
    "A": ({}, (22.5, 45, 0, 0)),
    "B": (
        {"measured": Measured.SAME_FOOT, "position": Position.MIDPOINT},
        (11.25, 22.5, 0, 0),
    ),
    "C on the left foot": (
        {"measured": Measured.OTHER_FOOT, "pivot": Pivot.LEFT},
        (22.5, 45, 0, 0),
    ),
    "C about the midpoint": (
        {"measured": Measured.OTHER_FOOT, "position": Position.MIDPOINT},
        (11.25, 33.75, 22.5, 22.5),
    ),
}


@source("readings A, B and C of two steps up and two back")
@pytest.mark.parametrize("reading", READINGS)
def test_the_readings_of_up_two_back_two(reading: str) -> None:
    changed, depths = READINGS[reading]
    done = run([move("up-two-back-two-about", **changed)])
    assert done.points[1:, 1] == pytest.approx(depths)
    assert done.points[:, 0] == pytest.approx([0] * 5)
    assert done.looks == pytest.approx((0, -1))


@source("the list of basic movements")
def test_everybody_has_the_basic_movements_and_no_other() -> None:
    named = (
        "forward backward mark-time halt left-flank right-flank to-the-rear lateral-slide-left "
        "lateral-slide-right side-step-left side-step-right left-oblique right-oblique"
    )
    assert set(USUAL) == set(named.split())
    assert not set(USUAL) & set(EXAMPLES)


@source("a flank falls on an even count when the left foot leads and the right one pivots")
@pytest.mark.parametrize(("counts", "wrong"), [(8, ()), (7, (1,))])
def test_a_flank_falls_on_an_even_count(counts: int, wrong: tuple[int, ...]) -> None:
    done = run([move("forward", counts), move("left-flank"), FORWARD_8])
    assert done.wrong_foot == wrong


@source("a pivot may own a count")
def test_a_flank_that_owns_a_count() -> None:
    done = run([FORWARD_8, move("left-flank", 1, counts=1), FORWARD_8])
    assert done.counts == 17
    assert done.end == pytest.approx((-180, 180))
