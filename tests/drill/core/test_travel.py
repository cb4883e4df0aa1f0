"""The chances of the travel list: against the binomial, closed forms, and every pattern tried."""

from __future__ import annotations

import itertools
import random
from collections.abc import Iterable, Iterator
from dataclasses import astuple, replace

import numpy as np
import pytest
from scipy.stats import binom

from drill.core import hole_chance as chances
from drill.core import travel
from drill.core.hole_chance import Figure, Group, Helper, Need, counts_of, figure, grouped
from drill.core.problem import (
    Bar,
    Cover,
    LineupProblem,
    Member,
    Origin,
    Part,
    Placement,
    Segment,
    Skill,
    Spot,
)

HORN, DRUM, FLAG = "horn", "drum", "flag"


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


@pytest.mark.source("SciPy, scipy.stats.binom: a hole is more marchers out than covers there")
@pytest.mark.parametrize(("spots", "covers"), [(15, 0), (15, 1), (15, 3), (4, 6)])
def test_a_part_with_its_own_covers(spots: int, covers: int) -> None:
    made = figure(
        group(Need(HORN, (0.05,) * spots), helpers=[helper(0.2, HORN) for _ in range(covers)])
    )
    here = [float(binom.pmf(n, covers, 0.8)) for n in range(covers + 1)]
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


def test_one_marcher_and_one_cover_are_both_out() -> None:
    made = group(Need(HORN, (0.1,)), helpers=[helper(0.3, HORN)])
    assert travel.hole_chance(made) == pytest.approx(0.1 * 0.3)


def test_two_marchers_and_one_cover() -> None:
    a, b, c = 0.1, 0.25, 0.4
    made = group(Need(HORN, (a, b)), helpers=[helper(c, HORN)])
    either = 1 - (1 - a) * (1 - b)
    assert travel.hole_chance(made) == pytest.approx(a * b + (either - a * b) * c)


def test_a_cover_shared_by_two_parts_of_one_marcher() -> None:
    """Horn goes first: its hole needs the cover out, the drum's is there when either is needed."""
    a, b, c = 0.1, 0.25, 0.4
    made = figure(group(Need(HORN, (a,)), Need(DRUM, (b,)), helpers=[helper(c, HORN, DRUM)]))
    assert made.hole == pytest.approx((a * c, b * (c + (1 - c) * a)))
    assert made.any_hole == pytest.approx(a * b + (a + b - 2 * a * b) * c)


def test_a_marcher_at_home_needs_a_cover_for_certain() -> None:
    assert travel.hole_chance(group(Need(HORN, (1.0,)))) == 1
    made = group(Need(HORN, (1.0,)), helpers=[helper(0.05, HORN)])
    assert travel.hole_chance(made) == pytest.approx(0.05)


def test_no_spot_no_hole() -> None:
    assert figure(group(Need(HORN, ()))) == Figure((0.0,), 0.0, 0.0)


# Brute force: every pattern of absences, every way to fill


def tries(group: Group) -> Iterator[tuple[float, list[int], list[Helper]]]:
    """Every pattern's weight, open spots by part, and covers who are there."""
    chances = [c for need in group.needs for c in need.out] + [h.out for h in group.helpers]
    for pattern in itertools.product((False, True), repeat=len(chances)):
        weight = float(np.prod([c if o else 1 - c for c, o in zip(chances, pattern, strict=True)]))
        rest = list(pattern)
        opened = []
        for need in group.needs:
            opened.append(sum(rest[: len(need.out)]))
            rest = rest[len(need.out) :]
        here = [h for h, out in zip(group.helpers, rest, strict=True) if not out]
        yield weight, opened, here


def best_fill(opened: list[int], here: list[Helper], parts: list[str]) -> tuple[int, ...]:
    """Most spots of the first part, then of the second, … among the fullest fillings."""
    best: tuple[int, ...] = (0,) * (len(parts) + 1)
    for way in itertools.product(*[[None, *sorted(h.parts)] for h in here]):
        filled = [min(n, way.count(p)) for n, p in zip(opened, parts, strict=True)]
        best = max(best, (sum(filled), *filled))
    return best[1:]


def by_brute_force(group: Group) -> Figure:
    parts = [need.part for need in group.needs]
    hole, some, mean = [0.0] * len(parts), 0.0, 0.0
    for weight, opened, here in tries(group):
        left = [n - f for n, f in zip(opened, best_fill(opened, here, parts), strict=True)]
        hole = [h + weight * (n > 0) for h, n in zip(hole, left, strict=True)]
        some += weight * any(left)
        mean += weight * sum(left)
    return Figure(tuple(hole), some, mean)


def random_group(rng: random.Random) -> Group:
    def chance() -> float:
        return rng.choice([0.0, 0.05, 0.2, 0.5, 0.9, 1.0])

    parts = [HORN, DRUM, FLAG][: rng.randint(1, 3)]
    needs = [Need(p, tuple(chance() for _ in range(rng.randint(0, 3)))) for p in parts]
    covers = [
        helper(chance(), *rng.sample(parts, rng.randint(1, len(parts))))
        for _ in range(rng.randint(0, 3))
    ]
    return Group(tuple(needs), tuple(covers))


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


def test_parts_that_share_no_cover_stand_alone() -> None:
    needs = [Need(p, (0.05,)) for p in (HORN, DRUM, FLAG)]
    made = grouped(needs, [helper(0.1, HORN, FLAG), helper(0.1, "never marched")])
    assert [[n.part for n in g.needs] for g in made] == [[HORN, FLAG], [DRUM]]
    assert [len(g.helpers) for g in made] == [1, 0]


# Trips: who weakens what, whom to take, who goes first


def member(name: str, *parts: str, **values: object) -> Member:
    return Member(name, tuple(Skill(p) for p in parts), **values)  # type: ignore[arg-type]


def problem(*members: Member, **values: object) -> LineupProblem:
    """Two horns and a drum in rank 1, in one segment; nobody is placed yet."""
    spots = (Spot("1-1", "1", HORN), Spot("1-2", "1", HORN), Spot("1-3", "1", DRUM))
    return LineupProblem(
        members=members,
        spots=spots,
        segments=(Segment("half", tuple(s.key for s in spots)),),
        parts=(Part(HORN, "horn"), Part(DRUM, "drum")),
        **values,  # type: ignore[arg-type]
    )


MARCHERS = (member("Ana", HORN), member("Bo", HORN), member("Cai", DRUM))
PLACED = tuple(
    Placement("half", spot, name, Origin.HOLDS)
    for spot, name in (("1-1", "Ana"), ("1-2", "Bo"), ("1-3", "Cai"))
)
HOME = frozenset({"Ana", "Bo", "Cai"})


def made(it: LineupProblem, **out: float) -> travel.Trip:
    every = {(m.key, "half"): out.get(m.key, travel.BASE_CHANCE) for m in it.members}
    return travel.trip(it, PLACED, every)


def test_what_leaving_somebody_at_home_does() -> None:
    it = made(problem(*MARCHERS, member("Ida", HORN), member("Jon", HORN, DRUM)))
    along = HOME | {"Ida"}
    p = travel.BASE_CHANCE
    without = it.weakening(along)
    assert set(without) == along
    two_out, either = p * p, 1 - (1 - p) ** 2
    now = two_out + (either - two_out) * p
    ida = ("half", HORN, pytest.approx(either), pytest.approx(now))
    assert astuple(without["Ida"]) == ida
    assert astuple(without["Cai"]) == ("half", DRUM, 1.0, pytest.approx(p))
    # Ana at home: her spot needs Ida for certain, and Bo's nobody would fill.
    assert without["Ana"].without == pytest.approx(1 - (1 - p) ** 2)
    with_them = it.strengthening(along)
    assert set(with_them) == {"Jon"}
    assert with_them["Jon"].part == DRUM
    assert with_them["Jon"].along == pytest.approx(p * p, abs=5e-3)


def test_whoever_changes_nothing_is_not_named() -> None:
    it = made(problem(*MARCHERS, member("Ida", "harp")))
    assert "Ida" not in it.weakening(HOME | {"Ida"})
    assert it.able == frozenset()


@pytest.mark.parametrize("seed", range(25))
def test_each_cover_chosen_is_the_one_that_helps_most(seed: int) -> None:
    rng = random.Random(seed)
    names = ("Ida", "Jon", "Kit", "Lou")
    extra = [member(n, *rng.sample([HORN, DRUM], rng.randint(1, 2))) for n in names]
    it = problem(*MARCHERS, *extra)
    trip = made(it, **{n: rng.choice([0.05, 0.3, 0.6]) for n in (*names, "Ana", "Bo", "Cai")})
    along = HOME
    for name in travel.fill(it, trip, HOME, 3):
        open_with = {n: _mean(trip, along | {n}) for n in set(names) - along}
        assert open_with[name] == pytest.approx(min(open_with.values()), abs=1e-9)
        along |= {name}
    assert len(along) == 6


def _mean(trip: travel.Trip, along: frozenset[str]) -> float:
    return sum(by_brute_force(g).open_spots for leg in trip.legs for g in leg.groups(along))


def test_among_equals_first_covers_go_before_standing_and_names() -> None:
    four = [member(n, HORN) for n in ("Ida", "Jon", "Kit", "Lou")]
    four[2] = replace(four[2], standing=1, standing_part=HORN, rank="1")
    it = problem(*MARCHERS, *four, covers=(Cover("1-2", "Lou", 1), Cover("1-1", "Jon", 2)))
    assert travel.fill(it, made(it), HOME, 3) == ("Lou", "Jon", "Kit")
    assert travel.fill(it, made(it), HOME, 0) == ()
    assert travel.fill(it, made(it), HOME, None) == ("Lou", "Jon", "Kit", "Ida")


def test_nobody_is_taken_who_cannot_help() -> None:
    people = (
        member("Harp", "harp"),
        member("Away", HORN, away=frozenset({"half"})),
        member("Barred", HORN),
        member("Ida", DRUM),
    )
    it = problem(*MARCHERS, *people, bars=(Bar("Barred"),))
    assert travel.fill(it, made(it), HOME, 4) == ("Ida",)


def test_a_part_whose_spots_all_need_experience_takes_no_beginner() -> None:
    it = problem(*MARCHERS, member("New", DRUM), member("Old", DRUM, experienced=True))
    spots = (*it.spots[:2], replace(it.spots[2], needs_experience=True))
    it = replace(it, spots=spots)
    assert made(it).able == {"Old"}


def test_the_first_reserve_is_the_named_cover_then_the_alternate_then_whoever_helps() -> None:
    people = (
        member("Helps", HORN, DRUM),
        member("Stands", HORN, standing=1, standing_part=HORN, rank="1"),
        member("Elsewhere", HORN, standing=1, standing_part=HORN, rank="9"),
        member("Named", HORN),
    )
    it = problem(*MARCHERS, *people, covers=(Cover("1-1", "Named", 2), Cover("9-9", "Helps", 1)))
    found = []
    along = HOME
    while (reserve := travel.first_reserve(it, made(it), PLACED, along, HORN)) is not None:
        found.append((reserve.member, reserve.cover, reserve.standing))
        along |= {reserve.member}
    assert found == [
        ("Named", 2, None),
        ("Stands", None, 1),
        ("Helps", None, None),
        ("Elsewhere", None, None),
    ]


def test_a_marcher_of_one_segment_covers_in_the_other() -> None:
    it = problem(*MARCHERS, member("Ida", HORN))
    it = replace(it, segments=(*it.segments, Segment("pre", ("1-1",))))
    placed = (*PLACED, Placement("pre", "1-1", "Ida", Origin.STANDS_IN))
    out = {(m.key, g): 0.05 for m in it.members for g in ("half", "pre")}
    trip = travel.trip(it, placed, out)
    assert trip.marchers == HOME | {"Ida"}
    half, pre = (leg.outlook(trip.marchers) for leg in trip.legs)
    assert half.hole[HORN] < 1 - 0.95**2, "Ida stands by at halftime"
    assert pre.hole[HORN] == pytest.approx(0.05**3), "Ana and Bo stand by in pregame"
