"""Two versions compared: moves apart from rounding, sets matched by their pictures."""

from __future__ import annotations

from dataclasses import replace

from hypothesis import given
from hypothesis import strategies as st

from drill.field.core.field import UNITS_PER_STEP as STEP
from drill.shows.core.version_changes import ROUNDING, Pair, Picture
from drill.shows.core.versions import carried, compare
from tests.examples import examples

DOTS = [f"1-{n}" for n in range(1, 7)]
coordinate = st.integers(-60 * STEP, 60 * STEP)
point = st.tuples(coordinate, st.integers(0, 80 * STEP))


def distinct(pictures: list[Picture]) -> bool:
    """No two pictures look alike: most dots stand far from where they stand in any other."""
    return all(
        sum(abs(a.at[p][0] - b.at[p][0]) + abs(a.at[p][1] - b.at[p][1]) > 12 * STEP for p in DOTS)
        >= 4
        for n, a in enumerate(pictures)
        for b in pictures[:n]
    )


@st.composite
def versions(draw: st.DrawFn) -> list[Picture]:
    count = draw(st.integers(1, 5))
    points = st.lists(point, min_size=len(DOTS), max_size=len(DOTS))
    return [
        Picture(str(n), draw(st.integers(1, 32)), dict(zip(DOTS, draw(points), strict=True)))
        for n in range(1, count + 1)
    ]


clear = versions().filter(distinct)


def renumbered(pictures: list[Picture]) -> list[Picture]:
    return [replace(p, label=str(n)) for n, p in enumerate(pictures, 1)]


@given(versions())
def test_a_version_does_not_differ_from_itself(pictures: list[Picture]) -> None:
    found = compare(pictures, pictures)
    assert found.is_same
    assert found.pairs == tuple(Pair(n, n) for n in range(len(pictures)))


@examples(60, long=600)
@given(versions(), versions())
def test_the_other_way_round_everything_is_turned_round(
    one: list[Picture], other: list[Picture]
) -> None:
    there, back = compare(one, other), compare(other, one)
    for found, n, m in ((there, len(one), len(other)), (back, len(other), len(one))):
        assert sorted(p.before for p in found.pairs if p.before is not None) == list(range(n))
        assert sorted(p.after for p in found.pairs if p.after is not None) == list(range(m))
    if there.pairs == tuple(Pair(p.after, p.before) for p in back.pairs):
        assert there.inserted == back.removed
        assert [m.distance for m in there.moved] == [m.distance for m in back.moved]


@examples(60, long=600)
@given(clear, st.data())
def test_an_inserted_set_is_inserted_and_the_later_ones_are_renumbered(
    pictures: list[Picture], data: st.DataObject
) -> None:
    where = data.draw(st.integers(0, len(pictures)))
    points = data.draw(st.lists(point, min_size=len(DOTS), max_size=len(DOTS)))
    new = Picture("new", 8, dict(zip(DOTS, points, strict=True)))
    longer = [*pictures[:where], new, *pictures[where:]]
    if not distinct(longer):
        return
    found = compare(pictures, renumbered(longer))
    assert found.inserted == (where,)
    assert not found.removed and not found.differing
    assert found.renumbered == tuple((n, n + 1) for n in range(where, len(pictures)))
    back = compare(renumbered(longer), pictures)
    assert back.removed == (where,) and not back.inserted


@examples(60, long=600)
@given(clear, st.data())
def test_rounding_is_no_move_and_a_move_is_no_rounding(
    pictures: list[Picture], data: st.DataObject
) -> None:
    n = data.draw(st.integers(0, len(pictures) - 1))
    dot = data.draw(st.sampled_from(DOTS))
    shift = data.draw(st.integers(1, 4 * STEP))
    x, y = pictures[n].at[dot]
    changed = replace(pictures[n], at={**pictures[n].at, dot: (x + shift, y)})
    found = compare(pictures, [*pictures[:n], changed, *pictures[n + 1 :]])
    (move,) = found.differing
    assert (move.dot, move.distance) == (dot, shift)
    assert bool(found.rounded) == (shift <= 180) != bool(found.moved)
    assert found.label(move.pair) == pictures[n].label


def test_a_quarter_step_askew_is_exact() -> None:
    """108 and 144 are 180 apart; a unit more is a move."""
    old = Picture("1", 8, {"1-1": (0, 0)})
    assert compare([old], [replace(old, at={"1-1": (108, 144)})]).rounded
    assert compare([old], [replace(old, at={"1-1": (109, 144)})]).moved


def test_a_set_drawn_anew_keeps_its_label() -> None:
    here = {p: (0, n * STEP) for n, p in enumerate(DOTS)}
    far = {p: (40 * STEP, n * STEP) for n, p in enumerate(DOTS)}
    old = [Picture("1", 0, here), Picture("2", 8, here)]
    found = compare(old, [Picture("1", 0, here), Picture("2", 8, far)])
    assert not found.inserted and not found.removed
    assert len(found.moved) == len(DOTS)


def test_equal_pictures_are_told_apart_by_their_labels() -> None:
    here = {"1-1": (0, 0)}
    old = [Picture("1", 0, here), Picture("2", 8, here), Picture("3", 8, here)]
    found = compare(old, [old[0], old[2]])
    assert found.removed == (1,) and not found.renumbered


def test_counts_dots_added_and_gone() -> None:
    old = [Picture("1", 8, {"1-1": (0, 0), "1-2": (9, 9), "1-3": (0, 9)})]
    new = [Picture("1", 16, {"1-1": (0, 0), "1-2": (9, 9), "1-4": (0, 9)})]
    found = compare(old, new)
    assert found.recounted == ((0, 0),)
    assert (found.added, found.gone) == (((0, "1-4"),), ((0, "1-3"),))


def test_nothing_against_something() -> None:
    new = [Picture("1", 8, {"1-1": (0, 0)})]
    assert compare([], new).inserted == (0,)
    assert compare(new, []).removed == (0,)
    assert compare([], []).is_same


@given(clear, st.data())
def test_what_stands_the_same_is_carried_into_a_later_version(
    pictures: list[Picture], data: st.DataObject
) -> None:
    """One set of them all is cut, the others renumbered; one is moved, the rest rounded."""
    numbers = range(len(pictures))
    gone, moved = data.draw(st.sampled_from(numbers)), data.draw(st.sampled_from(numbers))
    later = []
    for n, picture in enumerate(pictures):
        by = ROUNDING + 1 if n == moved else ROUNDING
        at = {**picture.at, "1-1": (picture.at["1-1"][0] + by, picture.at["1-1"][1])}
        later += [] if n == gone else [Picture("", 0, at)]
    found = carried(pictures, renumbered(later))
    kept = [n for n in numbers if n != gone]
    assert found == {n: kept.index(n) for n in kept if n != moved}


def test_somebody_who_stands_still_is_carried_by_labels() -> None:
    still = [Picture(str(n), 8, {"1-1": (0, 0)}) for n in range(1, 5)]
    more = [*still[:2], Picture("2A", 8, {"1-1": (0, 0)}), *still[2:]]
    assert carried(still, more) == {0: 0, 1: 1, 2: 3, 3: 4}
    unknown = [replace(p, at={}) for p in still]
    assert carried(unknown, unknown) == {n: n for n in range(4)}
    assert carried(unknown, still) == {}
