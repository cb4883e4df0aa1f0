"""Relearning as columns."""

from __future__ import annotations

import numpy as np

from drill.lineup.core.lessons import Lessons

ROWS = [("m2", "s1", 40), ("m1", "s9", 7), ("m2", "s1", 90), ("m1", "s1", 0)]


def test_rows_come_back_sorted_and_once() -> None:
    assert list(Lessons.of(ROWS)) == [("m1", "s1", 0), ("m1", "s9", 7), ("m2", "s1", 90)]


def test_order_of_rows_does_not_matter() -> None:
    first, second = Lessons.of(ROWS), Lessons.of(reversed(ROWS))
    assert first == second and hash(first) == hash(second)
    assert first != Lessons.of(ROWS[:2])


def test_nothing_to_relearn() -> None:
    assert list(Lessons.of([])) == [] and Lessons.of([]) == Lessons()


def test_columns_say_the_same_as_rows() -> None:
    columns = Lessons.of_columns(
        ("m1", "m2"), np.array([1, 0, 1, 0]), ("s1", "s9"), np.array([0, 1, 0, 0]),
        np.array([40, 7, 90, 0]),
    )  # fmt: skip
    assert columns == Lessons.of(ROWS)
