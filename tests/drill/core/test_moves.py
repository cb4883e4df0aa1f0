"""Steps, closest moments and what the checks of a drill find."""

from __future__ import annotations

import math
from collections.abc import Sequence
from fractions import Fraction
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from drill.core.approach import contacts, exact_contact
from drill.core.field import END_LINE, FIELD_WIDTH, UNITS_PER_INCH, UNITS_PER_STEP, units
from drill.core.move_checks import (
    Close,
    Drill,
    Fault,
    LargeStep,
    Missing,
    OffField,
    Repeated,
    SetHead,
    Unchecked,
    WrongCounts,
    findings,
)
from drill.core.moves import (
    Heading,
    Limit,
    Limits,
    Move,
    PathKind,
    Step,
    Way,
    heading,
    large_steps,
    to_5,
)
from tests.examples import examples

S10 = "common practice, no source: 6-to-5 as a sousaphone's limit, one step as the closest gap"
STEP = "common practice, no source: n-to-5 is n steps to five yards"
LIMITS = Limits(largest_step=36 * UNITS_PER_INCH, closest_gap=UNITS_PER_STEP)
EVERYTHING = 10**9

Point = tuple[float, float]


def at(*points: Point) -> np.ndarray:
    """Points in steps as units."""
    return np.array([[units(x), units(y)] for x, y in points], dtype=np.int64)


def move(starts: Sequence[Point], ends: Sequence[Point], counts: int, **more: object) -> Move:
    return Move(at(*starts), at(*ends), counts, **more)  # type: ignore[arg-type]


def steps_of(m: Move, instrument: str = "", limits: Limits = LIMITS) -> list[tuple[int, Step]]:
    return list(large_steps(m, (instrument,) * len(m.starts), limits))


def drill(*pictures: tuple[str, int, Sequence[Point | None]], **more: object) -> Drill:
    """Sets of (label, counts, points in steps; None where a place is missing)."""
    heads = tuple(SetHead(label, counts) for label, counts, _ in pictures)
    n = len(pictures[0][2])
    where = np.array([at(*[p or (0, 0) for p in points]) for *_, points in pictures])
    known = np.array([[p is not None for p in points] for *_, points in pictures])
    names = tuple("ABCDEFGH"[:n])
    given_ = {"instruments": ("",) * n} | more
    return Drill(heads, names, where=where, known=known, **given_)  # type: ignore[arg-type]


@pytest.mark.source(S10)
def test_s10_the_impossible_step() -> None:
    limits = Limits(36 * UNITS_PER_INCH, UNITS_PER_STEP, (Limit(units(8) // 6, "sousaphone"),))
    made = move([(0, 0)], [(20, 15)], 16)
    ((row, step),) = steps_of(made, "sousaphone", limits)
    assert (row, step.distance) == (0, 25)
    assert step.to_5 == 5.12
    assert step.inches == 35.15625
    assert f"{step.inches:.1f}" == "35.2"
    assert step.enough_counts == 20
    assert step.to_5_in(20) == 6.4
    assert not steps_of(made, "trumpet", limits), "36 inches is everybody else's limit"


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


@pytest.mark.source(STEP)
@pytest.mark.parametrize(
    ("there", "counts", "inches", "n"),
    [
        ((8, 6), 16, 14.0625, 12.8),
        ((6, 8), 8, 28.125, 6.4),
        ((8, 8), 8, 31.819805153394636, 5.656854249492381),
        ((8, 0), 8, 22.5, 8.0),
        ((16, 0), 12, 30.0, 6.0),
    ],
)
def test_published_steps(there: Point, counts: int, inches: float, n: float) -> None:
    ((_, step),) = steps_of(move([(0, 0)], [there], counts), limits=Limits(32, 0))
    assert step.inches == pytest.approx(inches, rel=1e-12)
    assert step.to_5 == pytest.approx(n, rel=1e-12)


def test_speed_needs_a_tempo() -> None:
    ((_, slow),) = steps_of(move([(0, 0)], [(8, 0)], 8), limits=Limits(32, 0))
    ((_, quick),) = steps_of(move([(0, 0)], [(8, 0)], 8, tempo=160), limits=Limits(32, 0))
    assert slow.per_second is None
    assert quick.per_second == 60


def test_no_step_at_all_is_no_size() -> None:
    assert to_5(0) == math.inf


@given(st.integers(1, 60000), st.integers(1, 64), st.integers(32, 2000))
def test_the_limit_itself_is_kept_and_one_unit_more_is_not(
    dx: int, counts: int, limit: int
) -> None:
    there = np.array([[dx, 0]], dtype=np.int64)
    made = Move(np.zeros((1, 2), dtype=np.int64), there, counts)
    assert bool(steps_of(made, limits=Limits(limit, 0))) == (dx > limit * counts)


@given(st.integers(1, 20000), st.integers(0, 20000), st.integers(1, 64), st.integers(100, 2000))
def test_the_proposed_counts_keep_the_limit_and_four_fewer_do_not(
    dx: int, dy: int, counts: int, limit: int
) -> None:
    step = Step(Fraction(dx**2 + dy**2, counts**2), Heading.FORWARD, limit, counts, None)
    length, proposed = dx**2 + dy**2, step.enough_counts
    assert proposed % 4 == 0
    assert length <= (limit * proposed) ** 2
    assert proposed == 4 or length > (limit * (proposed - 4)) ** 2


@pytest.mark.parametrize(
    ("going", "facing", "expected"),
    [
        ((0, 1), 0, Heading.FORWARD),
        ((0, -1), 0, Heading.BACKWARD),
        ((1, 0), 0, Heading.SIDEWAYS),
        ((0, -1), 180, Heading.FORWARD),
        ((-1, 0), 90, Heading.FORWARD),
        ((1, 0), 90, Heading.BACKWARD),
        ((1, 1), 0, Heading.FORWARD),
        ((1, -1), 0, Heading.BACKWARD),
        ((1, 0.99), 0, Heading.SIDEWAYS),
    ],
)
def test_heading_is_the_way_against_the_facing(
    going: Point, facing: float, expected: Heading
) -> None:
    assert heading(*going, facing) is expected


def test_the_most_specific_limit_counts() -> None:
    limits = Limits(
        1000,
        0,
        (
            Limit(900, from_tempo=160),
            Limit(800, heading="backward"),
            Limit(700, "tuba"),
            Limit(600, "tuba", "backward"),
            Limit(500, "tuba", from_tempo=180),
        ),
    )
    assert limits.step("flute", "forward", 120) == 1000
    assert limits.step("flute", "forward", 160) == 900
    assert limits.step("flute", "backward", 180) == 800
    assert limits.step("tuba", "forward", None) == 700
    assert limits.step("tuba", "backward", 200) == 600
    assert limits.step("tuba", "sideways", 180) == 500


def test_a_straight_way_counts_as_forward_unless_its_facing_is_told() -> None:
    limits = Limits(1000, 0, (Limit(700, heading="backward"),))
    back = {0: Way(PathKind.STRAIGHT, facings=(180.0,))}
    assert not steps_of(move([(0, 0)], [(0, 8)], 8), limits=limits)
    ((_, step),) = steps_of(move([(0, 0)], [(0, 8)], 8, ways=back), limits=limits)
    assert step.heading is Heading.BACKWARD


def test_a_described_way_is_judged_by_its_worst_count() -> None:
    points = at((0, 0), (0, 1), (0, 2), (2, 2), (3, 2))
    made = move([(0, 0)], [(3, 2)], 4, ways={0: Way(PathKind.DESCRIBED, points)})
    ((_, step),) = steps_of(made)
    assert (step.count, step.inches) == (3, 45)


def test_an_unknown_way_is_at_least_as_long_as_the_straight_one() -> None:
    made = move([(0, 0)], [(20, 0)], 8, ways={0: Way(PathKind.UNKNOWN)})
    assert [row for row, _ in steps_of(made)] == [0]


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


# The whole drill.


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
    assert isinstance(missing, Missing) and missing.places == (3,)
    assert isinstance(close, Close) and (close.places, close.count) == ((0, 1), 8)
    assert isinstance(step, LargeStep) and step.places == (2,)
    assert isinstance(unchecked, Unchecked) and unchecked.places == (3,)


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
    assert [(f.at, f.places, f.count) for f in found] == [(1, (0,), 2), (1, (1,), None)]
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
    assert [(f.fault, f.at, f.places) for f in alone] == [(Fault.CLOSE, 0, (0, 1))]
    coming = drill(("1", 0, [(0, 0), None]), ("2", 8, [(0, 0), (0, 0)]))
    assert (Fault.CLOSE, 1, (0, 1)) in {(f.fault, f.at, f.places) for f in findings(coming, LIMITS)}
    told = drill(("1", 0, [(0, 0), (9000, 0)]), ("2", 8, [(0, 0), (0, 0)]))
    assert sum(f.fault is Fault.CLOSE for f in findings(told, LIMITS)) == 1, "told once"
