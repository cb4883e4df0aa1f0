"""Why somebody sits where they do: what their seat costs, and what the best exchange would."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from roster.tryouts.core.seating.exchanging import Exchange
from roster.tryouts.core.seating.problem import Problem


@dataclass(frozen=True, slots=True)
class Why:
    """``distance_home``: 0 at home or without one. ``neighbors``: people beside them, and
    ``rookies_beside`` of them new. ``rank_off``: how far their rank's strength lies from typical,
    in percent. ``exchange``: the spot whose exchange with theirs would cost least, and how much
    more; None where nobody else of their part may move."""

    locked: bool
    distance_home: int
    neighbors: tuple[int, ...]
    rookies_beside: int
    rank_off: float
    exchange: tuple[int, float] | None


def why_here(problem: Problem, seats: Mapping[int, int], key: int) -> Why:
    """The reasons for one person's seat; KeyError where they have none."""
    spot = seats[key]
    place = problem.place[spot]
    sitting = {s: k for k, s in seats.items()}
    beside = [
        sitting[other.key]
        for pair in problem.neighbors
        if place in pair
        for other in pair
        if other != place and other.key in sitting
    ]
    under_way = Exchange(problem, seats, set(problem.locks) - {key})
    at = next(i for i, p in enumerate(under_way.places) if p.key == spot)
    group = next((g for g in under_way.groups if at in g), [])
    costs = []
    for other in group:
        if other != at:
            before = under_way.cost((at, other))
            under_way.exchange(at, other)
            costs.append((under_way.cost((at, other)) - before, under_way.places[other].key))
            under_way.exchange(at, other)
    best = min(costs, default=None)
    return Why(
        locked=key in problem.locks,
        distance_home=problem.distance_home(problem.person[key], place),
        neighbors=tuple(beside),
        rookies_beside=sum(problem.person[k].is_rookie for k in beside),
        rank_off=under_way.sums[place.rank],
        exchange=None if best is None else (best[1], round(best[0], 2)),
    )
