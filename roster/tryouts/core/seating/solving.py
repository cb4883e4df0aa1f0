"""Seating, level by level: an assignment says who is seated and who stays; exchanges make the rest
good; where a rule is still broken or a leader lacks, the constraint solver says whether it must."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from scipy.optimize import linear_sum_assignment

from roster.tryouts.core.looks import Floats
from roster.tryouts.core.seating.exchanging import Exchange
from roster.tryouts.core.seating.feasible import rule_abiding
from roster.tryouts.core.seating.problem import Problem, Scores, broken, scores_of

FORBIDDEN = 1e7
LOCKED, STAYS = 1e5, 1e3
"""what a seat that must be, and one that somebody has now, are worth in the first assignment"""


@dataclass(frozen=True, slots=True)
class Limits:
    """How many exchanges are tried, and from which seed: the same problem gives the same seats."""

    steps: int = 150_000
    seed: int = 1


@dataclass(frozen=True, slots=True)
class Seating:
    """``seats``: person -> spot. ``best_possible``: no seating can weigh less than this, taking
    each wish by itself. ``is_possible`` is False where rules contradict each other: nobody is
    seated then."""

    seats: Mapping[int, int]
    scores: Scores
    best_possible: float
    is_possible: bool = True


def solve(problem: Problem, limits: Limits = Limits()) -> Seating:
    """The seating. As many as possible are seated and as few as possible move, both proven; the
    weighed rest is the best that was found."""
    seats = _first_seats(problem)
    if any(seats.get(key) != spot for key, spot in problem.locks.items()):
        return _impossible(problem)
    seats = _better(problem, seats, limits)
    if broken(problem, seats) or scores_of(problem, seats).without_leaders:
        abiding = rule_abiding(problem, seats)
        if abiding is not None and _is_better(problem, abiding, seats):
            seats = _better(problem, abiding, limits)
    if broken(problem, seats):
        return _impossible(problem)
    return Seating(seats, scores_of(problem, seats), _bound(problem))


def _is_better(problem: Problem, one: Mapping[int, int], other: Mapping[int, int]) -> bool:
    def rank(seats: Mapping[int, int]) -> tuple[bool, int, int]:
        scores = scores_of(problem, seats)
        return bool(broken(problem, seats)), scores.moved, scores.without_leaders

    return rank(one) < rank(other)


def _impossible(problem: Problem) -> Seating:
    return Seating({}, scores_of(problem, {}), 0.0, is_possible=False)


def _staying(problem: Problem, seats: Mapping[int, int]) -> set[int]:
    """People who keep the seat they have, or are locked."""
    stays = {key for key, spot in problem.before.items() if seats.get(key) == spot}
    return stays | set(problem.locks)


def _better(problem: Problem, seats: Mapping[int, int], limits: Limits) -> dict[int, int]:
    under_way = Exchange(problem, seats, _staying(problem, seats))
    under_way.anneal(limits.steps, limits.seed)
    under_way.descend()
    return under_way.seats


def _first_seats(problem: Problem) -> dict[int, int]:
    """Locks, then as many as possible, then as few moved as possible, then near home."""
    if not problem.people or not problem.places:
        return {}
    cost = _own_costs(problem)
    own = cost < FORBIDDEN / 2
    all_own = cost.max(axis=1, where=own, initial=0.0).sum()
    cost[own] *= min(1.0, STAYS / 2 / max(all_own, 1.0))  # no wish is worth a move
    for row, person in enumerate(problem.people):
        for column, place in enumerate(problem.places):
            if own[row, column]:
                cost[row, column] -= STAYS * (problem.before.get(person.key) == place.key)
                cost[row, column] -= LOCKED * (problem.locks.get(person.key) == place.key)
    rows, columns = linear_sum_assignment(cost)
    return {
        problem.people[r].key: problem.places[c].key
        for r, c in zip(rows.tolist(), columns.tolist(), strict=True)
        if cost[r, c] < FORBIDDEN / 2
    }


def _own_costs(problem: Problem) -> Floats:
    """What each person on each spot costs by themselves (people, spots); forbidden where the part
    is another."""
    cost = np.full((len(problem.people), len(problem.places)), FORBIDDEN)
    weights = problem.weights
    for row, person in enumerate(problem.people):
        for column, place in enumerate(problem.places):
            if person.part == place.part:
                rookie = person.is_rookie and place.needs_experience
                cost[row, column] = (
                    weights.home * problem.distance_home(person, place)
                    + weights.experience * rookie
                )
    return cost


def _bound(problem: Problem) -> float:
    """The least that as many people on seats cost by themselves; neighbors and balance at best
    cost nothing."""
    if not problem.people or not problem.places:
        return 0.0
    cost = _own_costs(problem)
    costs = cost[linear_sum_assignment(cost)]
    return float(costs[costs < FORBIDDEN / 2].sum())
