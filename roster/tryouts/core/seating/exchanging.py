"""Better seats by exchanging what two spots of one part hold: seeded annealing, then a descent to
where no exchange helps. Who is seated at all stays the same."""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Collection, Mapping, Sequence

import numpy as np

from roster.tryouts.core.seating.problem import ELSEWHERE, HEIGHT_STEP, LEADERS, Person, Problem

HOT, COLD = 30.0, 0.2
LEAST_CHANCE = 1e-12


class Exchange:
    """A seating under way. Spots and people are numbered; ``sits`` [spot] is a person or -1."""

    def __init__(self, problem: Problem, seats: Mapping[int, int], fixed: Collection[int]) -> None:
        self.problem, self.weights = problem, problem.weights
        self.people: tuple[Person, ...] = problem.people
        self.places = problem.places
        self.rank = [p.rank for p in self.places]
        self.sits = [-1] * len(self.places)
        spot_at = {p.key: i for i, p in enumerate(self.places)}
        self.at_of = {p.key: i for i, p in enumerate(self.people)}
        for key, spot in seats.items():
            self.sits[spot_at[spot]] = self.at_of[key]
        self.beside: list[list[int]] = [[] for _ in self.places]
        for a, b in problem.neighbors:
            self.beside[spot_at[a.key]].append(spot_at[b.key])
            self.beside[spot_at[b.key]].append(spot_at[a.key])
        self.apart: dict[int, set[int]] = defaultdict(set)
        for pair in problem.apart:
            if pair.first in self.at_of and pair.second in self.at_of:
                one, other = self.at_of[pair.first], self.at_of[pair.second]
                self.apart[one].add(other)
                self.apart[other].add(one)
        self.strength = [problem.strength(p) for p in self.people]
        self.leaderless = self._most_at_once() - HOT * math.log(LEAST_CHANCE)
        self.together_costs = 4 * self.leaderless
        fixed_at = {self.at_of[key] for key in fixed if key in self.at_of}
        self.groups = self._groups(fixed_at)
        self.sums: dict[int, float] = defaultdict(float)
        self.leaders: dict[int, int] = defaultdict(int)
        for spot, person in enumerate(self.sits):
            if person >= 0:
                self.sums[self.rank[spot]] += self.strength[person]
                self.leaders[self.rank[spot]] += self.people[person].may_lead

    def _most_at_once(self) -> float:
        """More than one exchange can win by all wishes: no leader and no rule is worth them."""
        weights, heights = self.weights, [p.height for p in self.people if p.height is not None]
        pair = weights.company + weights.height * (_span(heights) / HEIGHT_STEP)
        own = weights.home * ELSEWHERE + weights.experience
        return 2 * own + 4 * pair + 2 * weights.balance * _span([0.0, *self.strength])

    def _groups(self, fixed: set[int]) -> list[list[int]]:
        """Spots whose people may be exchanged, by part."""
        found: dict[int, list[int]] = defaultdict(list)
        for spot, place in enumerate(self.places):
            if self.sits[spot] not in fixed:
                found[place.part].append(spot)
        return [spots for _, spots in sorted(found.items()) if len(spots) > 1]

    def own(self, person: int, spot: int) -> float:
        """What one person on one spot costs by themselves."""
        if person < 0:
            return 0.0
        who, place = self.people[person], self.places[spot]
        cost = self.weights.home * self.problem.distance_home(who, place)
        return float(cost + self.weights.experience * (who.is_rookie and place.needs_experience))

    def pair(self, one: int, other: int) -> float:
        """What two neighbors cost."""
        if one < 0 or other < 0:
            return 0.0
        a, b = self.people[one], self.people[other]
        cost = float(self.weights.company * (a.is_rookie and b.is_rookie))
        if a.height is not None and b.height is not None:
            cost += self.weights.height * abs(a.height - b.height) / HEIGHT_STEP
        return cost

    def around(self, spots: tuple[int, ...]) -> float:
        """Own costs and pairs of some spots, each pair once."""
        cost = 0.0
        for spot in spots:
            cost += self.own(self.sits[spot], spot)
            for other in self.beside[spot]:
                if other not in spots or other > spot:
                    cost += self.pair(self.sits[spot], self.sits[other])
        return cost

    def of_rank(self, rank: int) -> float:
        lack = max(0, LEADERS - self.leaders[rank])
        return self.weights.balance * abs(self.sums[rank]) + self.leaderless * lack

    def together(self, person: int, rank: int) -> int:
        """How many of those kept apart from a person are in the rank."""
        if person < 0 or person not in self.apart:
            return 0
        foes = self.apart[person]
        return sum(self.rank[s] == rank and who in foes for s, who in enumerate(self.sits))

    def cost(self, spots: tuple[int, ...]) -> float:
        """All that an exchange between these spots can change."""
        ranks = {self.rank[s] for s in spots}
        total = self.around(spots) + sum(self.of_rank(rank) for rank in ranks)
        foes = sum(self.together(self.sits[s], self.rank[s]) for s in spots)
        return total + self.together_costs * foes

    def put(self, spot: int, person: int) -> int:
        """Seat somebody (or nobody) and keep the ranks' sums; who sat there."""
        rank, before = self.rank[spot], self.sits[spot]
        if before >= 0:
            self.sums[rank] -= self.strength[before]
            self.leaders[rank] -= self.people[before].may_lead
        if person >= 0:
            self.sums[rank] += self.strength[person]
            self.leaders[rank] += self.people[person].may_lead
        self.sits[spot] = person
        return before

    def exchange(self, a: int, b: int) -> None:
        first = self.put(a, -1)
        second = self.put(b, first)
        self.put(a, second)

    def try_exchange(self, a: int, b: int, allowed: float) -> float | None:
        """Exchange two spots if it costs at most ``allowed`` more; what it cost, None undone."""
        spots = (a, b)
        before = self.cost(spots)
        self.exchange(a, b)
        change = self.cost(spots) - before
        if change <= allowed:
            return change
        self.exchange(a, b)
        return None

    def anneal(self, steps: int, seed: int) -> None:
        """So many tries, seeded, each a little less forgiving."""
        if not self.groups:
            return
        rng = np.random.default_rng(seed)
        sizes = np.array([len(g) for g in self.groups], dtype=float)
        chosen = rng.choice(len(self.groups), steps, p=sizes / sizes.sum())
        draws = rng.random((steps, 3))
        for step in range(steps):
            heat = HOT * (COLD / HOT) ** (step / steps)
            group = self.groups[chosen[step]]
            a = group[int(draws[step, 0] * len(group))]
            b = group[int(draws[step, 1] * len(group))]
            if a != b:
                self.try_exchange(a, b, -heat * math.log(max(draws[step, 2], LEAST_CHANCE)))

    def descend(self) -> None:
        """Until no single exchange makes it better."""
        better = True
        while better:
            better = False
            for group in self.groups:
                for n, a in enumerate(group):
                    for b in group[:n]:
                        better |= self.try_exchange(a, b, -1e-9) is not None

    @property
    def seats(self) -> dict[int, int]:
        return {
            self.people[person].key: self.places[spot].key
            for spot, person in enumerate(self.sits)
            if person >= 0
        }


def _span(values: Sequence[float]) -> float:
    return max(values, default=0.0) - min(values, default=0.0)
