"""Seatings small enough to try every one, the rules counted plainly, and a band to seat."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from itertools import pairwise, permutations, product
from random import Random
from statistics import fmean

import numpy as np
from scipy.optimize import linear_sum_assignment

from roster.tryouts.core.seating import Kept, Person, Place, Problem, Scores, Weights

Seats = dict[int, int]
Value = tuple[int, int, int, float]
"""spots open, people moved, leaders lacking, and the weighed rest"""
GONE = 77
"""somebody who had a seat and is not among the people any more"""


def tiny(random: Random) -> Problem:
    """At most six people on six spots, of one part or two, with some of every rule and wish."""
    ranks, size, parts = random.randint(1, 3), random.randint(2, 6), random.randint(1, 2)
    places = tuple(
        Place(100 + i, i % ranks, i // ranks, random.randint(1, parts), random.random() < 0.3)
        for i in range(size)
    )
    people = tuple(_somebody(random, key, parts, places) for key in range(random.randint(1, 6)))
    pairs = random.choice([0, 0, 1, 2]) if len(people) > 1 else 0
    keys = [p.key for p in people]
    return Problem(
        people,
        places,
        tuple(Kept(*random.sample(keys, 2)) for _ in range(pairs)),
        _locks(random, people, places),
        _before(random, people, places),
        _weights(random),
    )


def _somebody(random: Random, key: int, parts: int, places: tuple[Place, ...]) -> Person:
    home = random.choice(places) if random.random() < 0.4 else None
    return Person(
        key,
        random.randint(1, parts),
        strength=random.choice([None, 50.0, 60.0, 70.0, 82.5]),
        years=random.randint(0, 2),
        home_spot=None if home is None else home.key,
        home_rank=None if home is None else home.rank,
        height=random.choice([None, 160, 170, 183]),
        may_lead=random.random() < 0.5,
    )


def _locks(random: Random, people: tuple[Person, ...], places: tuple[Place, ...]) -> Seats:
    """Mostly none, then mostly one on a spot of the person's part."""
    if random.random() < 0.6:
        return {}
    who = random.choice(people)
    fitting = [p.key for p in places if p.part == who.part or random.random() < 0.1]
    return {who.key: random.choice(fitting)} if fitting else {}


def _before(random: Random, people: tuple[Person, ...], places: tuple[Place, ...]) -> Seats:
    """Nothing, or one spot each for some; seldom of a part that is not theirs any more."""
    if random.random() < 0.5:
        return {}
    spots = list(places)
    random.shuffle(spots)
    part_of = {p.key: p.part for p in people}
    careless = random.random() < 0.3
    rows = zip([*part_of, GONE], spots, strict=False)
    return {k: p.key for k, p in rows if careless or part_of.get(k, p.part) == p.part}


def _weights(random: Random) -> Weights:
    """As they are without a choice, or any from 0 to 20."""
    if random.random() < 0.6:
        return Weights()
    return Weights(*(random.randint(0, 20) for _ in range(5)))


def full_seatings(problem: Problem) -> Iterator[Seats]:
    """Every way to seat as many of each part as it has people and spots for."""
    choices: list[list[Seats]] = []
    for part in sorted({p.part for p in problem.people} & {p.part for p in problem.places}):
        keys = [p.key for p in problem.people if p.part == part]
        spots = [p.key for p in problem.places if p.part == part]
        if len(keys) <= len(spots):
            ways = permutations(spots, len(keys))
            choices.append([dict(zip(keys, way, strict=True)) for way in ways])
        else:
            ways = permutations(keys, len(spots))
            choices.append([dict(zip(way, spots, strict=True)) for way in ways])
    for chosen in product(*choices):
        yield {key: spot for seats in chosen for key, spot in seats.items()}


def values(problem: Problem) -> list[tuple[Value, Seats]]:
    """What every full seating that holds the rules is worth."""
    held = (seats for seats in full_seatings(problem) if not counted_broken(problem, seats))
    return [(value(counted(problem, seats), problem.weights), seats) for seats in held]


def value(scores: Scores, weights: Weights) -> Value:
    rest = scores.balance * weights.balance + scores.company * weights.company
    rest += scores.home * weights.home + scores.height * weights.height
    rest += scores.experience * weights.experience
    return scores.open, scores.moved, scores.without_leaders, round(rest, 6)


def counted(problem: Problem, seats: Mapping[int, int]) -> Scores:
    """The scores of a seating, rank by rank along its spots."""
    people = {p.key: p for p in problem.people}
    row_of: dict[int, list[tuple[Place, Person | None]]] = {}
    for place in sorted(problem.places, key=lambda p: p.order):
        sits = [people[key] for key, spot in seats.items() if spot == place.key]
        row_of.setdefault(place.rank, []).append((place, sits[0] if sits else None))
    lacking, off, company, home, height, experience = 0, 0.0, 0, 0, 0.0, 0
    for row in row_of.values():
        there = [(place, who) for place, who in row if who is not None]
        lacking += max(0, 2 - len([who for _, who in there if who.may_lead]))
        off += abs(sum(above_typical(problem, who) for _, who in there))
        home += sum(steps_from_home(who, place) for place, who in there)
        experience += sum(1 for place, who in there if who.years == 0 and place.needs_experience)
        for (_, left), (_, right) in pairwise(row):
            if left is None or right is None:
                continue
            company += left.years == 0 and right.years == 0
            if left.height is not None and right.height is not None:
                height += abs(left.height - right.height) / 5
    moved = [k for k, spot in problem.before.items() if k in people and seats.get(k) != spot]
    empty = len(problem.places) - len(set(seats.values()))
    return Scores(empty, len(moved), lacking, off, company, home, height, experience)


def above_typical(problem: Problem, who: Person) -> float:
    """Their figure above the mean of their part's; nothing where it is not known."""
    if who.strength is None:
        return 0.0
    known = [p.strength for p in problem.people if p.part == who.part and p.strength is not None]
    return who.strength - fmean(known)


def steps_from_home(who: Person, place: Place) -> int:
    if who.home_spot is None and who.home_rank is None:
        return 0
    if who.home_spot == place.key:
        return 0
    return 1 if who.home_rank == place.rank else 3


def counted_broken(problem: Problem, seats: Mapping[int, int]) -> set[str]:
    """Names of the rules that a seating breaks."""
    part = {p.key: p.part for p in problem.people}
    place = {p.key: p for p in problem.places}
    found = set()
    for key, spot in seats.items():
        if place[spot].part != part[key]:
            found.add("part of the spot")
        if [*seats.values()].count(spot) > 1:
            found.add("one person a spot")
    for pair in problem.apart:
        both = [place[seats[key]].rank for key in (pair.first, pair.second) if key in seats]
        if len(both) == 2 and both[0] == both[1]:
            found.add("kept apart")
    for key, spot in problem.locks.items():
        if key not in seats or seats[key] != spot:
            found.add("locked")
    return found


def band(seed: int, ranks: int = 14, each: int = 15, apart: int = 12) -> Problem:
    """A full band of six parts: three of four have marched and have a home, one of four may lead,
    every tenth spot needs experience."""
    rng = np.random.default_rng(seed)
    places = tuple(
        Place(1000 + i, i // each, i % each, i % each * 6 // each, bool(rng.random() < 0.1))
        for i in range(ranks * each)
    )
    people = []
    for key, place in enumerate(places):
        years = int(rng.integers(0, 4))
        homes = [p for p in places if p.part == place.part]
        home = homes[int(rng.integers(len(homes)))] if years else None
        people.append(
            Person(
                key,
                place.part,
                strength=round(float(rng.normal(70 + 3 * place.part, 8)), 1),
                years=years,
                home_spot=None if home is None else home.key,
                home_rank=None if home is None else home.rank,
                height=int(rng.normal(172, 9)) if rng.random() < 0.8 else None,
                may_lead=bool(years >= 2 and rng.random() < 0.5),
            )
        )
    pairs = [rng.choice(len(people), 2, replace=False).tolist() for _ in range(apart)]
    return Problem(tuple(people), places, tuple(Kept(a, b) for a, b in pairs))


def nearest_home(problem: Problem) -> Seats:
    """The plain assignment: everybody as near home as can be, without a look at anything else."""
    steps = np.array(
        [
            [
                steps_from_home(who, place) if who.part == place.part else 1e6
                for place in problem.places
            ]
            for who in problem.people
        ]
    )
    rows, columns = linear_sum_assignment(steps)
    found = zip(rows.tolist(), columns.tolist(), strict=True)
    return {problem.people[r].key: problem.places[c].key for r, c in found}
