"""Closest moments of two who move, against other ways to find them."""

from __future__ import annotations

import math
from fractions import Fraction
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from drill.field.core.field import UNITS_PER_STEP, units
from drill.shows.core.approach import contacts, exact_contact
from drill.shows.core.moves import Move, PathKind, Way
from tests.drill.shows.core.straight_moves import S10, at, move
from tests.examples import examples

EVERYTHING = 10**9


@pytest.mark.source(S10)
def test_s10_two_who_bump_and_one_who_does_not() -> None:
    c = [(8, 2 * k - 8) for k in range(9)] + [(8, 8)] * 8
    made = move(
        [(0, 0), (16, 0.5), (8, -8)],
        [(16, 0), (0, 0.5), (8, 8)],
        16,
        ways={2: Way(PathKind.DESCRIBED, at(*c))},
    )
    (found,) = [x for x in contacts(made, UNITS_PER_STEP) if x.second == 1]
    assert found.squared == units("0.5") ** 2
    assert found.moment * 16 == 8
    between = exact_contact(made, 0, 2)
    assert between.squared / UNITS_PER_STEP**2 == Fraction(64, 5)
    assert between.moment * 16 == Fraction(24, 5)
    assert f"{math.sqrt(between.squared) / UNITS_PER_STEP:.1f}" == "3.6"
    assert (0, 2) not in {(x.first, x.second) for x in contacts(made, UNITS_PER_STEP)}


# Closest moments against other ways to find them.


coordinate = st.integers(-3000, 3000)
point = st.tuples(coordinate, coordinate)


@st.composite
def moves(draw: st.DrawFn) -> Move:
    n, counts = draw(st.integers(2, 5)), draw(st.integers(1, 6))
    starts, ends = (draw(st.lists(point, min_size=n, max_size=n)) for _ in range(2))
    ways = {}
    for row in range(n):
        kind = draw(st.sampled_from(list(PathKind)))
        if kind is PathKind.DESCRIBED:
            inner = draw(st.lists(point, min_size=counts - 1, max_size=counts - 1))
            ways[row] = Way(kind, np.array([starts[row], *inner, ends[row]], dtype=np.int64))
        elif kind is PathKind.UNKNOWN:
            ways[row] = Way(kind)
    return Move(np.array(starts), np.array(ends), counts, ways=ways)


def reference(made: Move, one: int, other: int) -> Fraction:
    """The smallest squared distance, from the joints of both ways in fractions of a count."""

    def joints(row: int) -> list[tuple[Fraction, Fraction]]:
        points = made.points(row)
        if points is not None:
            return [(Fraction(x), Fraction(y)) for x, y in points.tolist()]
        (x0, y0), (x1, y1) = made.starts[row].tolist(), made.ends[row].tolist()
        shares = [Fraction(k, made.counts) for k in range(made.counts + 1)]
        return [(x0 + s * (x1 - x0), y0 + s * (y1 - y0)) for s in shares]

    a, b = joints(one), joints(other)
    apart = [(p[0] - q[0], p[1] - q[1]) for p, q in zip(a, b, strict=True)]
    if PathKind.UNKNOWN in (made.kind(one), made.kind(other)):
        return min(x * x + y * y for x, y in (apart[0], apart[-1]))
    best = apart[0][0] ** 2 + apart[0][1] ** 2
    for (x0, y0), (x1, y1) in pairwise(apart):
        vx, vy = x1 - x0, y1 - y0
        speed = vx * vx + vy * vy
        t = (
            min(max(-(x0 * vx + y0 * vy) / speed, Fraction(0)), Fraction(1))
            if speed
            else Fraction(0)
        )
        best = min(best, (x0 + t * vx) ** 2 + (y0 + t * vy) ** 2)
    return best


@examples(200, long=2000)
@given(moves())
def test_closest_moments_agree_with_fractions(made: Move) -> None:
    n = len(made.starts)
    found = {(c.first, c.second): c.squared for c in contacts(made, EVERYTHING)}
    expected = {(i, j): reference(made, i, j) for i in range(n) for j in range(i + 1, n)}
    assert found == expected


@examples(100, long=1000)
@given(moves(), st.integers(1, 4000))
def test_nothing_within_the_gap_is_missed_or_invented(made: Move, gap: int) -> None:
    n = len(made.starts)
    found = {(c.first, c.second) for c in contacts(made, gap)}
    near = {(i, j) for i in range(n) for j in range(i + 1, n) if reference(made, i, j) < gap * gap}
    assert found == near


@examples(60, long=600)
@given(moves())
def test_no_sampled_moment_is_closer_and_the_told_one_is_there(made: Move) -> None:
    shares = np.linspace(0, 1, 601)

    def along(row: int) -> np.ndarray:
        points = made.points(row)
        if points is None:
            points = np.array([made.starts[row], made.ends[row]])
        knots = np.linspace(0, 1, len(points))
        return np.stack([np.interp(shares, knots, points[:, k]) for k in (0, 1)], axis=-1)

    for contact in contacts(made, EVERYTHING):
        if PathKind.UNKNOWN in (made.kind(contact.first), made.kind(contact.second)):
            continue
        apart = np.hypot(*(along(contact.first) - along(contact.second)).T)
        closest = math.sqrt(contact.squared)
        assert closest <= apart.min() + 1e-6
        fastest = np.abs(np.diff(apart)).max() if len(apart) > 1 else 0
        assert apart.min() <= closest + fastest + 1e-6
        near = np.abs(shares - float(contact.moment)).argmin()
        assert apart[near] <= closest + fastest + 1e-6


def test_exactly_the_gap_is_fine_and_a_hair_less_is_not() -> None:
    """Crossing ways whose closest distance is irrational: only whole numbers can tell."""
    starts, ends = np.array([[0, 0], [720, 720]]), np.array([[7, 5], [727, 725]])
    side_by_side = Move(starts, ends, 8)
    squared = exact_contact(side_by_side, 0, 1).squared
    assert squared == 2 * 720**2
    assert not list(contacts(side_by_side, 1018)), "1018.2 apart"
    assert list(contacts(side_by_side, 1019))
    exact = Move(np.array([[0, 0], [0, 720]]), np.array([[9000, 0], [9000, 720]]), 8)
    assert not list(contacts(exact, 720))
    nearer = Move(np.array([[0, 0], [0, 720]]), np.array([[9000, 1], [9000, 720]]), 8)
    assert list(contacts(nearer, 720))


def test_far_off_the_field_the_pairs_are_still_right() -> None:
    far = 2**31 - 1
    made = Move(np.array([[far, 0], [-far, 1]]), np.array([[-far, 0], [far, 1]]), 8)
    (found,) = contacts(made, 720)
    assert found.squared == Fraction((2 * far * 2) ** 2, (4 * far) ** 2)
