"""The chance of a hole: against the binomial, closed forms, and every pattern tried."""

from __future__ import annotations

import random
from collections.abc import Iterable

import numpy as np
import pytest
from scipy.stats import binom

from drill.backups.core import hole_chance as chances
from drill.backups.core.hole_chance import Figure, Group, Helper, Need, counts_of, figure, grouped
from drill.travel.core import travel
from tests.drill.absences.core.absence_patterns import DRUM, FLAG, HORN, by_brute_force


def helper(out: float, *parts: str) -> Helper:
    return Helper(frozenset(parts), out)


def group(*needs: Need, helpers: Iterable[Helper] = ()) -> Group:
    return Group(needs, tuple(helpers))


# Against a reference library


@pytest.mark.source("SciPy, scipy.stats.binom: equal chances make the Poisson-binomial a binomial")
@pytest.mark.parametrize("chance", [0.01, 0.05, 0.3, 0.5, 0.97])
@pytest.mark.parametrize("people", [1, 2, 15, 60])
def test_equal_chances_are_a_binomial(people: int, chance: float) -> None:
    expected = binom.pmf(range(people + 1), people, chance)
    np.testing.assert_allclose(counts_of([chance] * people), expected, atol=1e-12)


@pytest.mark.source("SciPy, scipy.stats.binom: a hole is more marchers out than backups there")
@pytest.mark.parametrize(("spots", "backups"), [(15, 0), (15, 1), (15, 3), (4, 6)])
def test_a_part_with_its_own_backups(spots: int, backups: int) -> None:
    made = figure(
        group(Need(HORN, (0.05,) * spots), helpers=[helper(0.2, HORN) for _ in range(backups)])
    )
    here = [float(binom.pmf(n, backups, 0.8)) for n in range(backups + 1)]
    expected = sum(p * float(binom.sf(n, spots, 0.05)) for n, p in enumerate(here))
    mean = sum(
        p * float(binom.pmf(k, spots, 0.05)) * max(0, k - n)
        for n, p in enumerate(here)
        for k in range(spots + 1)
    )
    assert made.any_hole == pytest.approx(expected, abs=1e-12)
    assert made.open_spots == pytest.approx(mean, abs=1e-12)
    assert made.half_width == 0


# Closed forms for one and two people


def test_one_marcher_and_nobody_else() -> None:
    assert travel.hole_chance(group(Need(HORN, (0.07,)))) == pytest.approx(0.07)


def test_one_marcher_and_one_backup_are_both_out() -> None:
    made = group(Need(HORN, (0.1,)), helpers=[helper(0.3, HORN)])
    assert travel.hole_chance(made) == pytest.approx(0.1 * 0.3)


def test_two_marchers_and_one_backup() -> None:
    a, b, c = 0.1, 0.25, 0.4
    made = group(Need(HORN, (a, b)), helpers=[helper(c, HORN)])
    either = 1 - (1 - a) * (1 - b)
    assert travel.hole_chance(made) == pytest.approx(a * b + (either - a * b) * c)


def test_a_backup_shared_by_two_parts_of_one_marcher() -> None:
    """Horn goes first: its hole needs the backup out, the drum's is there when either is needed."""
    a, b, c = 0.1, 0.25, 0.4
    made = figure(group(Need(HORN, (a,)), Need(DRUM, (b,)), helpers=[helper(c, HORN, DRUM)]))
    assert made.hole == pytest.approx((a * c, b * (c + (1 - c) * a)))
    assert made.any_hole == pytest.approx(a * b + (a + b - 2 * a * b) * c)


def test_a_marcher_at_home_needs_a_backup_for_certain() -> None:
    assert travel.hole_chance(group(Need(HORN, (1.0,)))) == 1
    made = group(Need(HORN, (1.0,)), helpers=[helper(0.05, HORN)])
    assert travel.hole_chance(made) == pytest.approx(0.05)


def test_no_spot_no_hole() -> None:
    assert figure(group(Need(HORN, ()))) == Figure((0.0,), 0.0, 0.0)


# Brute force: every pattern of absences, every way to fill


def random_group(rng: random.Random) -> Group:
    def chance() -> float:
        return rng.choice([0.0, 0.05, 0.2, 0.5, 0.9, 1.0])

    parts = [HORN, DRUM, FLAG][: rng.randint(1, 3)]
    needs = [Need(p, tuple(chance() for _ in range(rng.randint(0, 3)))) for p in parts]
    backups = [
        helper(chance(), *rng.sample(parts, rng.randint(1, len(parts))))
        for _ in range(rng.randint(0, 3))
    ]
    return Group(tuple(needs), tuple(backups))


@pytest.mark.parametrize("seed", range(60))
def test_tiny_groups_agree_with_every_pattern_tried(seed: int) -> None:
    made = random_group(random.Random(seed))
    got, expected = figure(made), by_brute_force(made)
    assert got.hole == pytest.approx(expected.hole, abs=1e-9)
    assert got.any_hole == pytest.approx(expected.any_hole, abs=1e-9)
    assert got.open_spots == pytest.approx(expected.open_spots, abs=1e-9)


@pytest.mark.parametrize("seed", range(10))
def test_drawn_scenarios_stay_within_their_half_width(
    seed: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    made = Group(
        (Need(HORN, (0.05,) * 12), Need(DRUM, (0.1,) * (4 + seed)), Need(FLAG, (0.2,) * 3)),
        (helper(0.05, HORN, DRUM), helper(0.2, DRUM, FLAG), helper(0.05, HORN, FLAG)),
    )
    exact = figure.__wrapped__(made)
    monkeypatch.setattr(chances, "EXACT_CELLS", 1)
    drawn = figure.__wrapped__(made)
    assert exact.half_width == 0 and 0 < drawn.half_width < 0.02
    # Three half-widths: ten groups of four figures, none may lie outside.
    for got, want in zip((*drawn.hole, drawn.any_hole), (*exact.hole, exact.any_hole), strict=True):
        assert abs(got - want) < 3 * drawn.half_width
    assert drawn == figure.__wrapped__(made), "the scenarios are seeded"


def test_too_many_ways_to_share_make_the_chance_larger_and_say_so(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    made = Group(
        (Need(HORN, (0.3,)), Need(DRUM, (0.3,)), Need(FLAG, (0.3,))),
        (helper(0.1, HORN, DRUM), helper(0.1, DRUM, FLAG), helper(0.1, HORN, FLAG)),
    )
    exact = figure.__wrapped__(made)
    monkeypatch.setattr(chances, "MOST_SHARED", 1)
    rough = figure.__wrapped__(made)
    assert rough.rough and not exact.rough
    assert rough.any_hole > exact.any_hole and rough.open_spots > exact.open_spots


def test_parts_that_share_no_backup_stand_alone() -> None:
    needs = [Need(p, (0.05,)) for p in (HORN, DRUM, FLAG)]
    made = grouped(needs, [helper(0.1, HORN, FLAG), helper(0.1, "never marched")])
    assert [[n.part for n in g.needs] for g in made] == [[HORN, FLAG], [DRUM]]
    assert [len(g.helpers) for g in made] == [1, 0]
