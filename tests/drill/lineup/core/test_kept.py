"""Results found again by the identity of what they were made from."""

from __future__ import annotations

from drill.lineup.core.kept import kept


def test_the_same_rows_are_read_once_and_equal_ones_again() -> None:
    asked: list[tuple[int, ...]] = []

    @kept(2)
    def total(rows: tuple[int, ...]) -> int:
        asked.append(rows)
        return sum(rows)

    rows, equal = tuple(range(3)), tuple(range(3))
    assert total(rows) == total(rows) == total(equal) == 3
    assert len(asked) == 2


def test_the_oldest_goes_first_and_is_made_again() -> None:
    asked: list[int] = []

    @kept(2)
    def first(rows: tuple[int, ...]) -> int:
        asked.append(rows[0])
        return rows[0]

    one, two, three = (tuple(range(n, n + 2)) for n in (1, 2, 3))
    for rows in (one, two, one, three, one, two):
        first(rows)
    assert asked == [1, 2, 3, 2]


def test_rows_that_are_kept_keep_their_identity() -> None:
    """The identity of what is gone may be given to other rows: what is kept is not gone."""

    @kept(50)
    def size(rows: tuple[int, ...]) -> int:
        return len(rows)

    for count in range(1, 200):
        assert size(tuple(range(count))) == count
