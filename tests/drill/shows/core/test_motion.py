"""Where everybody stands between two sets."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from drill.shows.core.motion import Frame, at_count, nearest, way

START = Frame("1", 0, {"a": (0, 0), "b": (720, 0)})
NEXT = Frame("2", 8, {"a": (720, 1440), "b": (720, 0), "c": (5, 5)}, tempo=140)


def test_a_straight_way_is_walked_evenly() -> None:
    assert at_count([START, NEXT], 1, 0)["a"] == (0, 0)
    assert at_count([START, NEXT], 1, 2)["a"] == (180, 360)
    assert at_count([START, NEXT], 1, 8) == NEXT.points
    assert at_count([START, NEXT], 0, 5) == START.points


def test_who_was_not_in_the_set_before_waits_where_they_come_in() -> None:
    assert at_count([START, NEXT], 1, 0)["c"] == (5, 5)


def test_a_described_way_goes_through_its_own_points() -> None:
    track = [(0, 0), (0, 700), (0, 1440), (720, 1440)]
    frame = Frame("2", 3, {"a": (720, 1440), "b": (720, 0)}, tracks={"a": track})
    assert [at_count([START, frame], 1, n)["a"] for n in range(4)] == track
    assert at_count([START, frame], 1, 1)["b"] == (720, 0)


def test_counts_beyond_the_way_are_its_ends() -> None:
    assert at_count([START, NEXT], 1, 99) == NEXT.points
    assert at_count([START, NEXT], 1, -3)["a"] == (0, 0)
    with pytest.raises(IndexError):
        at_count([START], 1, 0)


def test_the_way_and_its_step() -> None:
    found = way([START, NEXT], 1, "a")
    assert found is not None
    assert found.distance == pytest.approx(math.hypot(720, 1440))
    assert found.step == pytest.approx(found.distance / 8)
    assert way([START, NEXT], 0, "a") is None
    assert way([START, NEXT], 1, "c") is None, "it was not in the set before"
    assert way([START, NEXT], 1, "nobody") is None
    still = way([START, Frame("2", 0, {"a": (9, 0)})], 1, "a")
    assert still is not None and still.step is None


def test_the_nearest_come_first_and_equals_by_label() -> None:
    points = {"a": (0, 0), "c": (0, 720), "b": (720, 0), "d": (9000, 0)}
    assert nearest(points, "a", 2) == ("b", "c")
    assert nearest(points, "a", 9) == ("b", "c", "d")


whole = st.integers(-70_000, 70_000)


@given(whole, whole, whole, whole, st.integers(1, 64))
def test_every_count_is_within_half_a_unit_of_the_line(
    x0: int, y0: int, x1: int, y1: int, counts: int
) -> None:
    frames = [Frame("1", 0, {"a": (x0, y0)}), Frame("2", counts, {"a": (x1, y1)})]
    for count in range(counts + 1):
        x, y = at_count(frames, 1, count)["a"]
        assert abs(x - (x0 + (x1 - x0) * count / counts)) <= 0.5 + 1e-6
        assert abs(y - (y0 + (y1 - y0) * count / counts)) <= 0.5 + 1e-6
