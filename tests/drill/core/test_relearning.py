"""The plain measure of relearning, and the change lists."""

from __future__ import annotations

import numpy as np
import pytest

from drill.core.changes import Change, member_changes, seat_changes
from drill.core.problem import MAX_RELEARNING
from drill.core.relearning import Home, Target, mean_distances, plain_cost

HERE = Target("1", "trumpet", "1-3")


def test_more_to_relearn_never_costs_less() -> None:
    own = plain_cost(Home("1", "trumpet", "1-2"), HERE, 720.0, 0)
    other_rank = plain_cost(Home("2", "trumpet", "2-2"), HERE, 720.0, 0)
    other_part = plain_cost(Home("2", "clarinet", "2-2"), HERE, 720.0, 0)
    far = plain_cost(Home("2", "clarinet", "2-2"), HERE, 1e9, 0)
    assert own < other_rank < other_part < far == MAX_RELEARNING


@pytest.mark.parametrize(("share", "cost"), [(0, 122), (0.5, 61), (1, 0), (2, 0)])
def test_practice_takes_its_share_off(share: float, cost: int) -> None:
    assert plain_cost(Home("1", "trumpet", "1-2"), HERE, 720.0 * 61, share) == cost


def test_an_unknown_distance_costs_the_middle() -> None:
    home = Home("1", "trumpet", None)
    assert plain_cost(home, HERE, None, 0) == plain_cost(home, HERE, float("nan"), 0) == 120


def test_mean_distance_is_over_the_sets_that_both_have() -> None:
    nan = np.nan
    grid = np.array([[[0, 0], [0, 0]], [[3, 4], [0, 10]], [[nan, nan], [0, 2]]], float)
    gaps = mean_distances(grid)
    assert gaps[0, 1] == 7.5
    assert gaps[0, 2] == 2
    assert gaps[1, 2] == 8
    assert np.isnan(mean_distances(np.full((2, 1, 2), nan))[0, 1])


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
