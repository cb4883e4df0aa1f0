"""The shows' moves: what the generator's check finds, and that the forms move, cross and turn."""

import math
import sys
from itertools import chain, pairwise
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

FIXTURES = Path(__file__).resolve().parents[2] / "fixtures"
sys.path.append(str(FIXTURES))

from generator import moves, shows  # noqa: E402
from generator.band import SIZES, all_spots  # noqa: E402
from generator.faults import PLANTED  # noqa: E402
from generator.forms import Form  # noqa: E402

POINTS = st.tuples(st.integers(-40, 40), st.integers(-40, 40))
MOVES = st.tuples(POINTS, POINTS)
MOMENTS = 2000


@given(MOVES, MOVES)
def test_near_is_what_looking_at_many_moments_says(
    a: tuple[moves.Quarter, moves.Quarter], b: tuple[moves.Quarter, moves.Quarter]
) -> None:
    def apart(part: float) -> float:
        (ax, ay), (bx, by) = (
            [u + (v - u) * part for u, v in zip(start, end, strict=True)] for start, end in (a, b)
        )
        return math.hypot(ax - bx, ay - by)

    seen = min(apart(n / MOMENTS) for n in range(MOMENTS + 1))
    # Between two moments nobody comes nearer than the way walked in half of one.
    slack = math.dist(*a) / MOMENTS + math.dist(*b) / MOMENTS
    if moves.comes_near(a, b):
        assert seen < moves.NEAREST + slack
    else:
        assert seen >= moves.NEAREST - 1e-9


@pytest.mark.source("common practice, no source: a sousaphone 20 across and 15 back in 16 counts")
def test_a_sousaphone_asked_for_five_to_five_is_told() -> None:
    move = (0, 0), (80, 60)  # 25 steps: 35.2 inches each in 16 counts, 28.1 in 20
    assert moves.too_large(*move, 16, 30)
    assert not moves.too_large(*move, 20, 30)


def test_two_who_pass_half_a_step_apart_are_told_and_three_and_a_half_are_not() -> None:
    ahead = (0, 0), (64, 0)
    assert moves.comes_near(ahead, ((64, 2), (0, 2)))
    assert not moves.comes_near(ahead, ((32, -32), (32, 32 + 2 * 29)))


def test_ranks_differ_in_length_and_one_has_a_letter() -> None:
    assert sum(SIZES.values()) == len(all_spots()) == 210
    assert (min(SIZES.values()), max(SIZES.values())) == (11, 18)
    assert len(set(SIZES.values())) >= 6
    assert [rank for rank in SIZES if not rank.isdigit()] == ["F"]
    assert [s.label for s in all_spots() if s.rank == "F"][:2] == ["F1", "F2"]


def _middles(form: Form) -> list[tuple[float, float]]:
    return [
        (sum(x for x, _ in rank) / len(rank) / 4, sum(y for _, y in rank) / len(rank) / 4)
        for rank in form
    ]


def _headings(form: Form) -> list[float]:
    """Which way each rank's line points, in degrees modulo half a turn."""
    ends = [(rank[0], rank[-1]) for rank in form]
    return [math.degrees(math.atan2(b[1] - a[1], b[0] - a[0])) % 180 for a, b in ends]


def _crossings(before: Form, after: Form) -> int:
    """How many pairs of ranks change which of them stands in front, by two steps and more."""
    old, new = _middles(before), _middles(after)
    pairs = [(p, q) for p in range(14) for q in range(p)]
    sides = [(old[p][1] - old[q][1], new[p][1] - new[q][1]) for p, q in pairs]
    return sum(a * b < 0 and min(abs(a), abs(b)) >= 2 for a, b in sides)


@pytest.mark.parametrize("show", sorted(shows.SHOWS))
def test_every_show_moves_crosses_and_turns(show: str) -> None:
    forms = [one.points for one in shows.make_sets(show)]
    turned = crossed = 0
    for before, after in pairwise(forms):
        points = zip(chain(*before), chain(*after), strict=True)
        assert sum(a != b for a, b in points) > 100
        crossed += _crossings(before, after) >= 10
        swings = [
            abs((a - b + 90) % 180 - 90)
            for a, b in zip(_headings(before), _headings(after), strict=True)
        ]
        turned += sorted(swings)[3] >= 20  # eleven ranks and more
    assert crossed and turned, (crossed, turned)


def test_without_its_planted_faults_nothing_is_wrong(monkeypatch: pytest.MonkeyPatch) -> None:
    assert len(PLANTED) == 4
    monkeypatch.setattr(shows, "planted_in", lambda show: [])
    limits = {spot.label: shows.largest_step(spot) for spot in all_spots()}
    for show in shows.SHOWS:
        pictures = [
            (one.counts, {s.label: shows.point_of(one.points, s.label) for s in all_spots()})
            for one in shows.make_sets(show)
        ]
        assert moves.findings(pictures, limits) == []
