"""What seating is about, how good an answer is, and an independent check of its rules."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cached_property
from itertools import pairwise

LEADERS = 2
"""people in each rank who may lead: a leader and an assistant leader"""
HEIGHT_STEP = 5
"""cm that count as one step of height between neighbors"""
ELSEWHERE, SAME_RANK = 3, 1
"""how far a returner is from home in another rank, and in the same rank on another spot"""


@dataclass(frozen=True, slots=True)
class Person:
    """Somebody to be seated: the part they were selected for, their figure, and where they were.
    ``years`` of marching; ``height`` in cm where it is known."""

    key: int
    part: int
    strength: float | None = None
    years: int = 0
    home_spot: int | None = None
    home_rank: int | None = None
    height: int | None = None
    may_lead: bool = False

    @property
    def is_rookie(self) -> bool:
        return self.years == 0


@dataclass(frozen=True, slots=True)
class Place:
    """A spot: its rank, its order there, the part it needs."""

    key: int
    rank: int
    order: int
    part: int
    needs_experience: bool = False


@dataclass(frozen=True, slots=True)
class Weights:
    """How much each wish counts: strength alike in all ranks (a percent of figure that a rank is
    off), rookies beside veterans (two rookies side by side), returners near home (steps from it),
    smooth height (5 cm between neighbors), experience where a spot needs it (a rookie there)."""

    balance: int = 1
    company: int = 4
    home: int = 2
    height: int = 1
    experience: int = 10


@dataclass(frozen=True, slots=True)
class Kept:
    """Two who are not in one rank; why is not known here."""

    first: int
    second: int


@dataclass(frozen=True)
class Problem:
    """``locks``: person -> spot that stays. ``before``: where people are now, person -> spot,
    empty the first time: fewest move."""

    people: tuple[Person, ...]
    places: tuple[Place, ...]
    apart: tuple[Kept, ...] = ()
    locks: Mapping[int, int] = field(default_factory=dict)
    before: Mapping[int, int] = field(default_factory=dict)
    weights: Weights = Weights()

    @cached_property
    def place(self) -> dict[int, Place]:
        return {p.key: p for p in self.places}

    @cached_property
    def person(self) -> dict[int, Person]:
        return {p.key: p for p in self.people}

    @cached_property
    def neighbors(self) -> tuple[tuple[Place, Place], ...]:
        """Spots side by side: next to each other in the order of their rank."""
        rows: dict[int, list[Place]] = defaultdict(list)
        for place in sorted(self.places, key=lambda p: (p.rank, p.order, p.key)):
            rows[place.rank].append(place)
        return tuple(pair for row in rows.values() for pair in pairwise(row))

    @cached_property
    def typical(self) -> dict[int, float]:
        """Mean strength of a part's people; those without a figure count as typical."""
        known: dict[int, list[float]] = defaultdict(list)
        for person in self.people:
            if person.strength is not None:
                known[person.part].append(person.strength)
        everybody = [s for values in known.values() for s in values]
        mean = sum(everybody) / len(everybody) if everybody else 0.0
        parts = {p.part for p in self.people} | {p.part for p in self.places}
        return {p: sum(known[p]) / len(known[p]) if known[p] else mean for p in parts}

    def strength(self, person: Person) -> float:
        """Their figure above or below what is typical of their part, in percent."""
        if person.strength is None:
            return 0.0
        return person.strength - self.typical[person.part]

    def distance_home(self, person: Person, place: Place) -> int:
        """0 on their old spot and for whoever had none."""
        if person.home_spot is None and person.home_rank is None:
            return 0
        if person.home_spot == place.key:
            return 0
        return SAME_RANK if person.home_rank == place.rank else ELSEWHERE


@dataclass(frozen=True, slots=True)
class Scores:
    """How good a seating is, best first; lower is better in each. ``moved`` counts whoever is not
    on the spot they had, also those without one now. ``balance`` in percent, ``height`` in 5 cm."""

    open: int
    moved: int
    without_leaders: int
    balance: float
    company: int
    home: int
    height: float
    experience: int

    def weighed(self, weights: Weights) -> float:
        """The rest in one number."""
        return (
            weights.balance * self.balance
            + weights.company * self.company
            + weights.home * self.home
            + weights.height * self.height
            + weights.experience * self.experience
        )


def scores_of(problem: Problem, seats: Mapping[int, int]) -> Scores:
    """The scores of a seating, person -> spot."""
    sitting = {spot: problem.person[key] for key, spot in seats.items()}
    ranks = sorted({p.rank for p in problem.places})
    of_rank: dict[int, float] = dict.fromkeys(ranks, 0.0)
    leaders: dict[int, int] = dict.fromkeys(ranks, 0)
    for spot, person in sitting.items():
        of_rank[problem.place[spot].rank] += problem.strength(person)
        leaders[problem.place[spot].rank] += person.may_lead
    pairs = [
        (sitting[a.key], sitting[b.key])
        for a, b in problem.neighbors
        if a.key in sitting and b.key in sitting
    ]
    return Scores(
        open=len(problem.places) - len(sitting),
        moved=sum(
            key in problem.person and seats.get(key) != spot for key, spot in problem.before.items()
        ),
        without_leaders=sum(max(0, LEADERS - n) for n in leaders.values()),
        balance=sum(abs(value) for value in of_rank.values()),
        company=sum(a.is_rookie and b.is_rookie for a, b in pairs),
        home=sum(
            problem.distance_home(person, problem.place[spot]) for spot, person in sitting.items()
        ),
        height=sum(
            abs(a.height - b.height) / HEIGHT_STEP
            for a, b in pairs
            if a.height is not None and b.height is not None
        ),
        experience=sum(
            person.is_rookie and problem.place[spot].needs_experience
            for spot, person in sitting.items()
        ),
    )


def broken(problem: Problem, seats: Mapping[int, int]) -> list[str]:
    """Hard rules that a seating breaks, by the name of the rule; says nothing else about whom."""
    found = []
    if any(problem.person[k].part != problem.place[s].part for k, s in seats.items()):
        found.append("part of the spot")
    if len(set(seats.values())) < len(seats):
        found.append("one person a spot")
    rank_of = {key: problem.place[spot].rank for key, spot in seats.items()}
    if any(rank_of.get(k.first, -1) == rank_of.get(k.second, -2) for k in problem.apart):
        found.append("kept apart")
    if any(seats.get(key) != spot for key, spot in problem.locks.items()):
        found.append("locked")
    return found
