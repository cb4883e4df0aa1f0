"""What a member would have to relearn, and the change lists."""

from __future__ import annotations

import math
from collections.abc import Mapping

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from drill.field.core.field import UNITS_PER_STEP as STEP
from drill.lineup.core.changes import Change, member_changes, seat_changes
from drill.lineup.core.problem import MAX_RELEARNING
from drill.lineup.core.relearn import SAME, Load, farthest, loads, study_order
from drill.lineup.core.set_gaps import Knowledge, ShowDrill, Target
from drill.rehearsals.core.practised import practised_sets

Points = Mapping[str, list[tuple[float, float] | None]]
HERE = Target("1", "trumpet", "t")


def drill(
    steps: Points, codes: Mapping[tuple[str, int], frozenset[str]] | None = None
) -> ShowDrill:
    """Dots with their coordinates in steps; None where a dot is missing."""
    grid = np.array(
        [[(math.nan, math.nan) if p is None else p for p in row] for row in steps.values()], float
    )
    sets = tuple(str(n + 1) for n in range(grid.shape[1]))
    return ShowDrill(tuple(steps), sets, grid * STEP, codes or {})


def knows(
    dot: str | None,
    practised: Mapping[str, frozenset[int]] | None = None,
    passed: frozenset[str] | None = None,
) -> Knowledge:
    return Knowledge("1", "trumpet", dot, practised or {}, passed)


def one(show: ShowDrill, knowledge: Knowledge, target: Target = HERE) -> Load:
    (load,) = loads(show, knowledge, [target])
    return load


LINE = drill({"h": [(0, 0), (0, 0), (0, 0), (0, 0)], "t": [(0, 0.25), (3, 4), (0, 9), (0.1, 0)]})


def test_a_set_is_new_when_the_target_stands_elsewhere() -> None:
    load = one(LINE, knows("h"))
    assert (load.total, load.new, load.practised) == (4, 2, 0)
    assert (load.largest, load.largest_set, load.distance) == (9 * STEP, "3", 14 * STEP)
    assert load.cost == round((10 + 18) / 4)


def test_practised_sets_are_not_new_and_count() -> None:
    load = one(LINE, knows("h", practised={"t": frozenset({2})}))
    assert (load.new, load.practised, load.largest_set) == (1, 1, "2")
    everything = one(LINE, knows("h", practised={"t": frozenset(range(4))}))
    assert (everything.new, everything.cost, everything.largest) == (0, 0, None)


def test_a_dot_practised_nearby_shortens_the_way() -> None:
    show = drill({"h": [(0, 0), (0, 0)], "t": [(0, 9), (0, 9)], "n": [(0, 8), (0, 1)]})
    load = one(show, knows("h", practised={"n": frozenset({0})}))
    assert load.distance == (1 + 9) * STEP


def test_an_alternate_without_a_dot_has_no_distances() -> None:
    load = one(LINE, knows(None))
    assert (load.new, load.largest, load.largest_set, load.distance) == (4, None, "", 0)
    assert load.cost == 120


def test_a_dot_without_coordinates_is_new_in_every_set() -> None:
    load = one(LINE, knows("h"), Target("1", "trumpet", "nowhere"))
    assert (load.total, load.new, load.largest) == (4, 4, None)


def test_a_show_without_sets_asks_nothing() -> None:
    empty = ShowDrill((), (), np.zeros((0, 0, 2)))
    assert one(empty, knows(None)).total == 0
    assert loads(empty, knows(None), []) == []


def test_a_set_in_which_the_target_does_not_stand_is_not_to_be_learned() -> None:
    show = drill({"h": [(0, 0), (0, 0)], "t": [None, (0, 4)]})
    load = one(show, knows("h"))
    assert (load.total, load.new) == (1, 1)


def test_another_rank_and_another_part_cost_more() -> None:
    costs = [
        one(LINE, knows("h"), Target(rank, part, "t")).cost
        for rank, part in (("1", "trumpet"), ("2", "trumpet"), ("2", "clarinet"))
    ]
    assert costs == sorted(set(costs))


def test_the_cost_stays_in_its_range() -> None:
    far = drill({"h": [(-80, 0)], "t": [(80, 85)]})
    assert one(far, Knowledge("2", "horn", "h")).cost == MAX_RELEARNING


def test_opposite_ways_are_counted_and_cost_more() -> None:
    same = drill({"h": [(0, 0), (8, 0)], "t": [(0, 4), (8, 4)]})
    other = drill({"h": [(0, 0), (8, 0)], "t": [(8, 4), (0, 4)]})
    short = drill({"h": [(0, 0), (1, 0)], "t": [(1, 4), (0, 4)]})
    assert [one(d, knows("h")).opposite for d in (same, other, short)] == [0, 1, 0]
    order = study_order(other, knows("h"), HERE)
    assert [(s.label, s.opposite) for s in order] == [("2", True), ("1", False)]


def test_fundamentals_that_were_not_passed_are_named() -> None:
    codes = {
        ("t", 1): frozenset({"three-quarters-left-in-place", "halt"}),
        ("h", 0): frozenset({"left-flank"}),
    }
    show = drill({"h": [(0, 0), (0, 0)], "t": [(0, 9), (0, 4)]}, codes)
    assert one(show, knows("h")).lacking == ()
    load = one(show, knows("h", passed=frozenset({"halt"})))
    assert load.lacking == ("three-quarters-left-in-place",)
    assert load.cost == one(show, knows("h")).cost + 10 // 2
    order = study_order(show, knows("h", passed=frozenset({"halt"})), HERE)
    assert [(s.index, s.lacking) for s in order] == [
        (1, ("three-quarters-left-in-place",)),
        (0, ()),
    ]


def test_the_farthest_come_first_in_the_study_order() -> None:
    assert [s.label for s in study_order(LINE, knows("h"), HERE)] == ["3", "2"]
    assert [s.label for s in study_order(LINE, knows(None), HERE)] == ["1", "2", "3", "4"]


def test_the_nearest_known_dot_is_named_and_unknown_sets_come_first() -> None:
    show = drill({"h": [(0, 0), None], "t": [(0, 9), (0, 9)], "n": [(0, 8), (0, 1)]})
    order = study_order(show, knows("h", practised={"n": frozenset({0})}), HERE)
    assert [(s.label, s.nearest) for s in order] == [("2", ""), ("1", "n")]


def test_the_farthest_of_several_loads() -> None:
    near, far = one(LINE, knows("h", practised={"t": frozenset({2})})), one(LINE, knows("h"))
    assert farthest([near, far]) is far
    assert farthest([one(LINE, knows(None))]) is None


@pytest.mark.parametrize(
    ("logged", "told", "sets"),
    [
        ([], 0, set()),
        ([], 2, {0, 1}),
        ([1, 2], 2, {1, 2}),
        ([1], 3, {0, 1, 2}),
        ([], 9, {0, 1, 2, 3}),
    ],
)
def test_the_log_names_sets_and_a_told_number_fills_up_from_the_start(
    logged: list[int], told: int, sets: set[int]
) -> None:
    assert practised_sets(4, logged, told) == sets


coordinate = st.integers(-60, 60).map(float)
dot = st.lists(st.tuples(coordinate, coordinate), min_size=3, max_size=3)


@given(st.lists(dot, min_size=2, max_size=5), st.sets(st.integers(0, 2)))
def test_it_equals_the_plain_definition(
    dots: list[list[tuple[float, float]]], sets: set[int]
) -> None:
    """Set by set against every known dot, without arrays."""
    show = drill({("h", "t", "a", "b", "c")[i]: [*row] for i, row in enumerate(dots)})
    load = one(show, knows("h", practised={"a": frozenset(sets), "t": frozenset({0})}))
    new, total = [], 0.0
    for index in (1, 2):
        known = [dots[0][index]]
        if len(dots) > 2 and index in sets:
            known.append(dots[2][index])
        gap = min(math.dist(dots[1][index], p) for p in known) * STEP
        if gap > SAME:
            new.append(index)
            total += gap
    assert load.new == len(new)
    assert load.distance == pytest.approx(total)
    assert {
        s.index
        for s in study_order(
            show, knows("h", practised={"a": frozenset(sets), "t": frozenset({0})}), HERE
        )
    } == set(new)


def test_changes_by_seat_and_by_member() -> None:
    before = {("h", "1"): "a", ("h", "2"): "b", ("h", "3"): None}
    after = {("h", "1"): "b", ("h", "2"): None, ("h", "3"): "c"}
    told = {c.member: (c.change, c.before, c.after) for c in member_changes(before, after)}
    assert told == {
        "a": (Change.STEPS_OUT, "1", None),
        "b": (Change.MOVES, "2", "1"),
        "c": (Change.STEPS_IN, None, "3"),
    }
    assert len(seat_changes(before, after)) == 3
    assert member_changes(before, before) == ()
