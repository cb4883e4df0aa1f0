"""What the checks of a whole drill find."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np

from drill.field.core.field import END_LINE, FIELD_WIDTH, UNITS_PER_STEP, units
from drill.shows.core.move_checks import findings
from drill.shows.core.move_findings import (
    Close,
    Fault,
    LargeStep,
    Missing,
    OffField,
    Repeated,
    Unchecked,
    WrongCounts,
)
from drill.shows.core.moves import Limits, PathKind, Way
from drill.shows.core.told_drill import Drill, SetHead
from tests.drill.shows.core.straight_moves import LIMITS, Point, at


def drill(
    *pictures: tuple[str, int, Sequence[Point | None]],
    ways: Mapping[tuple[int, int], Way] | None = None,
) -> Drill:
    """Sets of (label, counts, points in steps; None where a dot is missing)."""
    heads = tuple(SetHead(label, counts) for label, counts, _ in pictures)
    n = len(pictures[0][2])
    where = np.array([at(*[p or (0, 0) for p in points]) for *_, points in pictures])
    known = np.array([[p is not None for p in points] for *_, points in pictures])
    names = tuple("ABCDEFGH"[:n])
    return Drill(heads, names, ("",) * n, where, known, ways or {})


def test_the_list_is_ranked_worst_first() -> None:
    made = drill(
        ("1", 0, [(0, 8), (16, 8.5), (-30, 8), (-40, 8)]),
        ("2", 16, [(16, 8), (0, 8.5), (-2, 8), (-50, 8)]),
        ("2 ", 0, [(16, 8), (0, 8.5), (-2, 8), None]),
        ways={(1, 3): Way(PathKind.UNKNOWN)},
    )
    found = findings(made, Limits(units("1.25"), UNITS_PER_STEP))
    assert [f.fault for f in found] == [
        Fault.REPEATED,
        Fault.COUNTS,
        Fault.MISSING,
        Fault.CLOSE,
        Fault.STEP,
        Fault.UNCHECKED,
    ]
    repeated, counts, missing, close, step, unchecked = found
    assert isinstance(counts, WrongCounts) and (counts.at, counts.told) == (2, None)
    assert isinstance(repeated, Repeated) and (repeated.at, repeated.earlier) == (2, 1)
    assert isinstance(missing, Missing) and missing.dots == (3,)
    assert isinstance(close, Close) and (close.dots, close.count) == ((0, 1), 8)
    assert isinstance(step, LargeStep) and step.dots == (2,)
    assert isinstance(unchecked, Unchecked) and unchecked.dots == (3,)


def test_two_who_stand_too_close_are_told_once_for_a_set() -> None:
    made = drill(
        ("1", 0, [(0, 8), (9, 8)]), ("2", 8, [(0, 8), (0.5, 8)]), ("3", 8, [(0, 8), (8, 8)])
    )
    (found,) = findings(made, LIMITS)
    assert isinstance(found, Close)
    assert (found.at, found.count) == (1, 8)


def test_off_the_field_in_a_set_and_on_the_way() -> None:
    edge = (0, FIELD_WIDTH / UNITS_PER_STEP)
    over = at((0, 80), (0, 85), (0, 86), (0, 84), (0, 80))
    made = drill(
        ("1", 0, [(0, 80), edge]),
        ("2", 4, [(0, 80), (8, 86)]),
        ways={(1, 0): Way(PathKind.DESCRIBED, over)},
    )
    found = [f for f in findings(made, Limits(10**6, 0)) if isinstance(f, OffField)]
    assert [(f.at, f.dots, f.count) for f in found] == [(1, (0,), 2), (1, (1,), None)]
    assert found[1].outside == units(86) - FIELD_WIDTH
    beyond = drill(("1", 0, [(END_LINE / UNITS_PER_STEP + 1, 0)]))
    assert [f.fault for f in findings(beyond, LIMITS)] == [Fault.EDGE]


def test_words_that_take_other_counts_are_told_and_not_checked() -> None:
    short = Way(PathKind.DESCRIBED, at((0, 8), (1, 8)))
    made = drill(("1", 0, [(0, 8)]), ("2", 8, [(8, 8)]), ways={(1, 0): short})
    first, second = findings(made, LIMITS)
    assert isinstance(first, WrongCounts) and (first.counts, first.told) == (8, 1)
    assert isinstance(second, Unchecked)


def test_an_empty_drill_has_no_faults() -> None:
    nothing = Drill((), (), (), np.zeros((0, 0, 2), np.int64), np.zeros((0, 0), bool))
    assert findings(nothing, LIMITS) == ()


def test_two_on_one_point_are_found_where_no_move_shows_it() -> None:
    """A drill of one set; and somebody who comes in on top of somebody."""
    alone = findings(drill(("1", 0, [(0, 0), (0, 0)])), LIMITS)
    assert [(f.fault, f.at, f.dots) for f in alone] == [(Fault.CLOSE, 0, (0, 1))]
    coming = drill(("1", 0, [(0, 0), None]), ("2", 8, [(0, 0), (0, 0)]))
    assert (Fault.CLOSE, 1, (0, 1)) in {(f.fault, f.at, f.dots) for f in findings(coming, LIMITS)}
    told = drill(("1", 0, [(0, 0), (9000, 0)]), ("2", 8, [(0, 0), (0, 0)]))
    assert sum(f.fault is Fault.CLOSE for f in findings(told, LIMITS)) == 1, "told once"
