"""Trips: who weakens what, whom to take, who goes first."""

from __future__ import annotations

import random
from dataclasses import astuple, replace

import pytest

from drill.backups.core.usual import PLAIN
from drill.lineup.core.problem import (
    Backup,
    Block,
    LineupProblem,
    Member,
    Origin,
    Part,
    Placement,
    Segment,
    Skill,
    Spot,
)
from drill.travel.core import travel, trips
from tests.drill.absences.core.absence_patterns import DRUM, HORN, by_brute_force


def member(
    name: str,
    *parts: str,
    away: frozenset[str] = frozenset(),
    experienced: bool = False,
) -> Member:
    skills = tuple(Skill(p) for p in parts)
    return Member(name, skills, away=away, experienced=experienced)


def alternate(name: str, rank: str) -> Member:
    """The first for the horns of a rank."""
    return Member(name, (Skill(HORN),), rank=rank, standing=1, standing_part=HORN)


def problem(
    *members: Member, backups: tuple[Backup, ...] = (), blocks: tuple[Block, ...] = ()
) -> LineupProblem:
    """Two horns and a drum in rank 1, in one segment; nobody is placed yet."""
    spots = (Spot("1-1", "1", HORN), Spot("1-2", "1", HORN), Spot("1-3", "1", DRUM))
    return LineupProblem(
        members=members,
        spots=spots,
        segments=(Segment("half", tuple(s.key for s in spots)),),
        parts=(Part(HORN, "horn"), Part(DRUM, "drum")),
        backups=backups,
        blocks=blocks,
    )


MARCHERS = (member("Ana", HORN), member("Bo", HORN), member("Cai", DRUM))
PLACED = tuple(
    Placement("half", spot, name, Origin.HOLDS)
    for spot, name in (("1-1", "Ana"), ("1-2", "Bo"), ("1-3", "Cai"))
)
HOME = frozenset({"Ana", "Bo", "Cai"})


def made(it: LineupProblem, **out: float) -> trips.Trip:
    every = {(m.key, "half"): out.get(m.key, PLAIN) for m in it.members}
    return travel.trip(it, PLACED, every)


def test_what_leaving_somebody_at_home_does() -> None:
    it = made(problem(*MARCHERS, member("Ida", HORN), member("Jon", HORN, DRUM)))
    along = HOME | {"Ida"}
    p = PLAIN
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
def test_each_backup_chosen_is_the_one_that_helps_most(seed: int) -> None:
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


def _mean(trip: trips.Trip, along: frozenset[str]) -> float:
    return sum(by_brute_force(g).open_spots for leg in trip.legs for g in leg.groups(along))


def test_among_equals_first_backups_go_before_standing_and_names() -> None:
    four = [member(n, HORN) for n in ("Ida", "Jon", "Kit", "Lou")]
    four[2] = replace(four[2], standing=1, standing_part=HORN, rank="1")
    it = problem(*MARCHERS, *four, backups=(Backup("1-2", "Lou", 1), Backup("1-1", "Jon", 2)))
    assert travel.fill(it, made(it), HOME, 3) == ("Lou", "Jon", "Kit")
    assert travel.fill(it, made(it), HOME, 0) == ()
    assert travel.fill(it, made(it), HOME, None) == ("Lou", "Jon", "Kit", "Ida")


def test_nobody_is_taken_who_cannot_help() -> None:
    people = (
        member("Harp", "harp"),
        member("Away", HORN, away=frozenset({"half"})),
        member("Blocked", HORN),
        member("Ida", DRUM),
    )
    it = problem(*MARCHERS, *people, blocks=(Block("Blocked"),))
    assert travel.fill(it, made(it), HOME, 4) == ("Ida",)


def test_a_part_whose_spots_all_need_experience_takes_no_beginner() -> None:
    it = problem(*MARCHERS, member("New", DRUM), member("Old", DRUM, experienced=True))
    spots = (*it.spots[:2], replace(it.spots[2], needs_experience=True))
    it = replace(it, spots=spots)
    assert made(it).able == {"Old"}


def test_the_first_reserve_is_the_named_backup_then_the_alternate_then_whoever_helps() -> None:
    people = (
        member("Helps", HORN, DRUM),
        alternate("Stands", "1"),
        alternate("Elsewhere", "9"),
        member("Named", HORN),
    )
    it = problem(*MARCHERS, *people, backups=(Backup("1-1", "Named", 2), Backup("9-9", "Helps", 1)))
    found = []
    along = HOME
    while (reserve := travel.first_reserve(it, made(it), PLACED, along, HORN)) is not None:
        found.append((reserve.member, reserve.backup, reserve.standing))
        along |= {reserve.member}
    assert found == [
        ("Named", 2, None),
        ("Stands", None, 1),
        ("Helps", None, None),
        ("Elsewhere", None, None),
    ]


def test_a_marcher_of_one_segment_is_a_backup_in_the_other() -> None:
    it = problem(*MARCHERS, member("Ida", HORN))
    it = replace(it, segments=(*it.segments, Segment("pre", ("1-1",))))
    placed = (*PLACED, Placement("pre", "1-1", "Ida", Origin.STANDS_IN))
    out = {(m.key, g): 0.05 for m in it.members for g in ("half", "pre")}
    trip = travel.trip(it, placed, out)
    assert trip.marchers == HOME | {"Ida"}
    half, pre = (leg.outlook(trip.marchers) for leg in trip.legs)
    assert half.hole[HORN] < 1 - 0.95**2, "Ida stands by at halftime"
    assert pre.hole[HORN] == pytest.approx(0.05**3), "Ana and Bo stand by in pregame"
