"""Which way the sides lie from a picture's edges: never the wrong side's name."""

from __future__ import annotations

import pytest

from drill.shows.core.sides import side_words

FIRST, MIDDLE, LAST = 0, 600, 1200


@pytest.mark.parametrize(
    ("left", "right", "words"),
    [
        (FIRST, LAST, ("side 1", "side 2")),
        (-50, 1250, ("side 1", "side 2")),
        (300, 500, ("← side 1", "side 2 →")),
        (700, 900, ("← side 1", "side 2 →")),
        (300, 900, ("← side 1", "side 2 →")),
        (-50, 500, ("", "side 2 →")),
        (FIRST, MIDDLE, ("", "side 2 →")),
        (700, 1250, ("← side 1", "")),
    ],
)
def test_a_side_is_pointed_to_where_it_goes_on(
    left: int, right: int, words: tuple[str, str]
) -> None:
    assert side_words(left, right, FIRST, LAST) == words


def test_no_edge_of_a_part_is_named_as_a_place() -> None:
    for left in range(-100, 1150, 50):
        for right in range(left + 50, 1301, 50):
            if left <= FIRST and right >= LAST:
                continue
            one, two = side_words(left, right, FIRST, LAST)
            assert one in ("", "← side 1") and two in ("", "side 2 →")
            assert bool(one) is (left > FIRST) and bool(two) is (right < LAST)
