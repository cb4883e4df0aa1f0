"""Lines closed up and shows cut."""

from __future__ import annotations

import math
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from drill.closing.core.closing import (
    along,
    close_up,
    cut,
    forms_line,
    forms_ring,
    lines_of,
    respace,
    without,
)
from drill.field.core.field import UNITS_PER_STEP as STEP
from drill.shows.core.move_checks import findings, fresh
from drill.shows.core.move_findings import Fault
from drill.shows.core.moves import Limits, PathKind, Way
from drill.shows.core.told_drill import Drill, SetHead

LIMITS = Limits(1152, STEP)


def drill(
    *pictures: list[tuple[int, int]], ways: dict[tuple[int, int], Way] | None = None
) -> Drill:
    where = np.array(pictures, dtype=np.int64)
    heads = tuple(SetHead(str(n), 8 if n > 1 else 0) for n in range(1, len(pictures) + 1))
    names = tuple(f"1-{n}" for n in range(1, where.shape[1] + 1))
    return Drill(
        heads, names, ("",) * len(names), where, np.ones(where.shape[:2], bool), ways or {}
    )


def row(n: int, y: int = 0, gap: int = 2 * STEP) -> list[tuple[int, int]]:
    return [(k * gap, y) for k in range(n)]


@given(st.integers(3, 12), st.integers(1, 4 * STEP), st.data())
def test_a_straight_line_stays_as_long_and_becomes_even(
    n: int, gap: int, data: st.DataObject
) -> None:
    gone = data.draw(st.integers(0, n - 1))
    made = close_up(drill(row(n, gap=gap)), range(n), gone, {0})
    line = [tuple(p) for p in made.where[0].tolist()]
    assert len(line) == n - 1
    assert line[0] == (0, 0) and line[-1] == ((n - 1) * gap, 0)
    gaps = [math.dist(a, b) for a, b in pairwise(line)]
    assert max(gaps) - min(gaps) <= 2, "whole units only"
    assert f"1-{gone + 1}" not in made.dots


@given(st.lists(st.tuples(st.integers(-9999, 9999), st.integers(0, 9999)), min_size=2, max_size=9))
def test_as_many_as_there_were_on_even_legs_stand_where_they_stood(
    line: list[tuple[int, int]],
) -> None:
    ends = respace(line, 2)
    assert (ends[0], ends[-1]) == (line[0], line[-1])


def test_a_bend_keeps_its_shape() -> None:
    bend = [(0, 0), (0, 720), (0, 1440), (720, 1440), (1440, 1440)]
    assert respace(bend, 5) == tuple(bend)
    assert respace(bend, 3) == ((0, 0), (0, 1440), (1440, 1440))
    assert respace(bend, 1) == ((0, 0),)


def test_the_order_along_the_line_is_found_where_numbers_jump() -> None:
    jumping = {0: (0, 0), 1: (4 * STEP, 0), 2: (2 * STEP, 0), 3: (6 * STEP, 0)}
    assert along(jumping) == (0, 2, 1, 3)
    arc = {n: (round(9999 * math.cos(n)), round(9999 * math.sin(n))) for n in range(3)}
    assert along(arc) == (0, 1, 2)


def ring(n: int, radius: int = 8 * STEP) -> list[tuple[int, int]]:
    angles = [2 * math.pi * k / n for k in range(n)]
    return [(round(radius * math.cos(a)), round(radius * math.sin(a))) for a in angles]


@given(st.integers(5, 24), st.data())
def test_a_ring_closes_all_the_way_round(n: int, data: st.DataObject) -> None:
    gone = data.draw(st.integers(0, n - 1))
    before = [p for k, p in enumerate(ring(n)) if k != gone]
    made = close_up(drill(ring(n)), range(n), gone, {0})
    after = [tuple(p) for p in made.where[0].tolist()]
    # Evenly along the old ring's straight sides: chords that cut a corner are a little shorter.
    side = 2 * 8 * STEP * math.sin(math.pi / n)
    gaps = [math.dist(a, b) for a, b in pairwise([*after, after[0]])]
    assert max(gaps) <= side * n / (n - 1) + 2
    assert min(gaps) >= side * n / (n - 1) * math.cos(math.pi / n) - 2
    moves = [math.dist(a, b) for a, b in zip(before, after, strict=True)]
    assert max(moves) <= side / 2 + 2, "the two beside the gap share it"
    if n % 2 == 0:
        across = before.index(ring(n)[(gone + n // 2) % n])
        assert moves[across] <= 1, "across the gap nobody moves"


@given(st.lists(st.sampled_from((1, 2)), min_size=10, max_size=24), st.data())
def test_a_ring_of_uneven_gaps_becomes_even(gaps: list[int], data: st.DataObject) -> None:
    """Whoever is gone, nobody is sent onto somebody else."""
    angles = [2 * math.pi * sum(gaps[:n]) / sum(gaps) for n in range(len(gaps))]
    points = [(round(9e4 * math.cos(a)), round(9e4 * math.sin(a))) for a in angles]
    gone = data.draw(st.integers(0, len(points) - 1))
    assume(forms_ring(points))
    made = close_up(drill(points), range(len(points)), gone, {0}).where[0].tolist()
    after = [math.dist(a, b) for a, b in pairwise([*made, made[0]])]
    assert max(after) <= 1.4 * min(after), "chords of unlike bends differ a little"


def test_an_arc_a_box_and_a_wedge_are_no_rings() -> None:
    assert forms_ring(ring(8)) and not forms_ring(ring(8)[:6])
    assert not forms_ring(ring(4)) and not forms_ring(row(8))


def test_only_sets_with_a_line_are_proposed() -> None:
    scattered = [(0, 0), (STEP, 0), (30 * STEP, 9 * STEP), (2 * STEP, 40 * STEP)]
    made = drill(row(4), scattered, row(4, y=STEP))
    assert lines_of(made, range(4), 1) == (0, 2)
    assert not forms_line(row(2))


def test_other_sets_and_other_dots_stay_and_old_ways_no_longer_hold() -> None:
    told = Way(PathKind.DESCRIBED, np.array([(0, 0)] * 9))
    made = drill(row(5), row(5, y=STEP), row(5, y=2 * STEP), ways={(2, 1): told, (1, 1): told})
    closed = close_up(made, [0, 1, 2, 3], 2, {2})
    assert (closed.where[:2] == made.where[:2][:, [0, 1, 3, 4]]).all()
    assert closed.where[2].tolist()[:3] == [[0, 1440], [2160, 1440], [4320, 1440]]
    assert closed.where[2].tolist()[3] == [4 * 1440, 1440], "not in the line"
    assert closed.ways[2, 1].kind is PathKind.UNKNOWN
    assert closed.ways[1, 1] is told


def test_the_hole_left_open_moves_nobody() -> None:
    made = drill(row(4), row(4, y=STEP))
    assert (without(made, 3).where == made.where[:, :3]).all()


def test_a_cut_leads_straight_to_the_next_set_and_its_faults_are_new() -> None:
    far = [(x + 20 * STEP, y) for x, y in row(3)]
    made = drill(row(3), row(3, y=STEP), row(3, y=2 * STEP), far, far)
    shorter = cut(made, 1, 2, 16)
    assert [(s.label, s.counts) for s in shorter.sets] == [("1", 0), ("4", 16), ("5", 8)]
    assert not findings(shorter, LIMITS), "20 steps in 16 counts is 6.4-to-5"
    hurried = cut(made, 1, 2, 8)
    old, new = findings(made, LIMITS), findings(hurried, LIMITS)
    assert [f.fault for f in new] == [Fault.STEP] * 3
    assert not fresh(made, old, hurried, new), "set 4 was as impossible before"
    gentle = drill(row(3), [(x + 10 * STEP, y) for x, y in row(3)], far, far)
    assert not findings(gentle, LIMITS)
    cut_short = cut(gentle, 1, 1, 8)
    assert len(fresh(gentle, (), cut_short, findings(cut_short, LIMITS))) == 3


def test_ways_follow_their_sets_and_the_jump_is_straight() -> None:
    unknown = Way(PathKind.UNKNOWN)
    made = drill(*[row(2, y=n) for n in range(5)], ways={(3, 0): unknown, (4, 1): unknown})
    assert cut(made, 1, 2, 8).ways == {(2, 1): unknown}


@pytest.mark.parametrize(("first", "last"), [(0, 1), (2, 1), (1, 2), (1, 9)])
def test_the_ends_stay(first: int, last: int) -> None:
    with pytest.raises(ValueError, match="first and last sets stay"):
        cut(drill(row(2), row(2), row(2)), first, last, 8)


def test_what_gets_far_worse_is_news_again() -> None:
    """From 1.5 times the limit to 4 times; a little worse is not told again."""

    def moving(*steps: float) -> Drill:
        return drill(*([(round(STEP * x), 0)] for x in (0.0, *steps)))

    before = moving(16)
    old = findings(before, LIMITS)
    assert [f.fault for f in old] == [Fault.STEP]
    for steps, news in ((16.5, 0), (40, 1)):
        after = moving(steps)
        assert len(fresh(before, old, after, findings(after, LIMITS))) == news
