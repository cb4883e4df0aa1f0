"""Footprints drawn: every foot is there, with its counts, inside the picture."""

from __future__ import annotations

import itertools
import math

import pytest
from hypothesis import given

from drill.field import labels
from drill.fundamentals.core import STEP, Move, run
from drill.fundamentals.core.sequences import make_sequences
from drill.fundamentals.footprints.counts import rows
from drill.fundamentals.footprints.feet import footprints
from drill.fundamentals.footprints.way import way
from tests.drill.fundamentals.core.built_in import BUILT_IN, move
from tests.drill.fundamentals.core.test_engine import sequences


@given(sequences)
def test_every_foot_is_drawn_inside_the_picture(routine: list[Move]) -> None:
    done = run(routine)
    drawing = footprints(done, "A routine")
    assert len(drawing.soles) == len(done.prints)
    labels = sorted(int(n) for sole in drawing.soles for n in sole.label.split())
    assert labels == [p.count for p in done.prints]
    left, top, width, height = map(float, drawing.view_box.split())
    for sole in drawing.soles:
        assert left <= sole.x <= left + width
        assert top <= sole.y <= top + height


def test_left_feet_are_drawn_left_of_the_way() -> None:
    drawing = footprints(run([move("forward", 4)]), "Forward")
    assert [(s.is_left, s.x, s.y) for s in drawing.soles] == [
        (True, -4.5, -STEP),
        (False, 4.5, -2 * STEP),
        (True, -4.5, -3 * STEP),
        (False, 4.5, -4 * STEP),
    ]
    assert [(a.word, a.x, a.turn) for a in drawing.arrows] == [("faces", 0, 0)]


def test_a_stance_is_drawn_as_wide_as_it_is() -> None:
    wide = footprints(run([move("forward", 2, stance=12.0)]), "Forward", 12.0)
    assert [s.x for s in wide.soles] == [-6, 6]


def test_horns_that_point_elsewhere_have_an_arrow() -> None:
    drawing = footprints(run([move("feet-left-horns-kept", 4)]), "Horns kept")
    assert [(a.word, a.turn) for a in drawing.arrows] == [("faces", -90), ("horns", 0)]


def test_counts_in_numbers() -> None:
    found = rows(run([move("four-corners-about")]))
    assert [(r.count, r.foot, r.across, r.forward, r.turned) for r in found] == [
        (0, "", 0, 0, ""),
        (1, "left", 0, 1, "45° left"),
        (2, "right", -1, 1, "90° left"),
        (3, "left", -1, 0, "135° left"),
        (4, "right", 0, 0, "180° left"),
    ]


def test_a_way_in_its_square() -> None:
    done = run([move("forward", 4), move("backward", 4)])
    drawing = way(done, "There and back", 16, [4, 8])
    assert drawing.square == (-180, -180, 360)
    assert [(x, y, label.text) for x, y, label in drawing.marks] == [(0, -90, "4"), (0, 0, "8")]
    assert math.isclose(max(drawing.size), 90, rel_tol=0.01)


@pytest.mark.parametrize("code", sorted(BUILT_IN))
def test_arrows_and_numbers_stand_on_no_foot(code: str) -> None:
    drawing = footprints(run([move(code, 4 if BUILT_IN[code].counts is None else None)]), code)
    feet = {(s.x, s.y) for s in (*drawing.soles, *drawing.start)}
    for arrow in drawing.arrows:
        assert all(math.dist((arrow.x, arrow.y), foot) >= 7 for foot in feet)
    for sole in drawing.soles:
        if sole.label:
            others = feet - {(sole.x, sole.y)}
            assert all(math.dist((sole.label_x, sole.label_y), foot) > 5 for foot in others)


@pytest.mark.parametrize("seed", range(12))
@pytest.mark.parametrize("square", [16, 40])
def test_in_a_square_nothing_covers_a_number(seed: int, square: int) -> None:
    codes = ("forward", "backward", "left-flank", "right-flank", "to-the-rear")
    chosen = [BUILT_IN[code] for code in codes]
    (it,) = make_sequences(chosen, BUILT_IN, counts=48, square=square, groups=1, seed=seed)
    drawing = way(it.run, "A sequence", square, range(4, 49, 4))
    (start,) = drawing.arrows
    boxes = [
        *(labels.box_of(label, x, y, drawing.letter) for x, y, label in drawing.marks),
        *(labels.square(x, y, drawing.dot) for x, y, _ in drawing.marks),
        labels.square(start.x, start.y, 4.5 * start.size),
    ]
    for one, other in itertools.combinations(boxes, 2):
        assert not labels.overlaps(one, other)
    left, top, width, height = map(float, drawing.view_box.split())
    for box in boxes:
        assert left <= box[0] and top <= box[1]
        assert box[2] <= left + width and box[3] <= top + height


def test_a_large_square_is_written_as_large_on_paper() -> None:
    done = run([move("forward", 4), move("backward", 4)])
    small, large = (way(done, "There and back", square, [4]) for square in (16, 64))
    on_paper = [it.letter * it.size[0] / it.width for it in (small, large)]
    assert on_paper[0] == pytest.approx(on_paper[1], rel=0.02)
    assert on_paper[0] > 2.3, "millimetres"


@pytest.mark.parametrize("counts", [1, 12])
def test_numbers_keep_clear_of_the_next_foot(counts: int) -> None:
    drawing = footprints(run([move("side-step-left", counts)]), "Side-step")
    for sole in drawing.soles:
        for other in drawing.soles:
            if other is not sole:
                assert math.dist((sole.label_x, sole.label_y), (other.x, other.y)) > 5
