"""Tiny lineup problems solved by looking at every lineup there is.

Each segment's lineups are listed one by one; segments meet only in the travel limit, in spare
pieces and in spots with several stand-ins, so of the lineups that carry the same members, need
the same pieces and have the same stand-ins only the best is kept before segments are put
together. Exact for every rule and every level.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from drill.lineup.core.problem import LineupProblem, Member, Placement, Segment, Spot
from tests.reference import evaluate

Values = tuple[int, ...]
Choice = dict[str, str]
"""spot key -> member key, in one segment"""

Key = tuple[frozenset[str], frozenset[tuple[str, str]], frozenset[evaluate.Need]]
"""members carried, (member, spot) pairs of stand-ins, spare pieces needed"""


@dataclass(frozen=True)
class Best:
    """The lexicographic optimum: the eight level values and one lineup that has them."""

    values: Values
    placements: tuple[Placement, ...]


def _choices(
    open_spots: list[str], may: dict[str, list[str]], pins: dict[str, str]
) -> Iterator[Choice]:
    """Every way of giving the spots to members, or to nobody, each member once."""
    if not open_spots:
        yield {}
        return
    spot, rest = open_spots[0], open_spots[1:]
    for choice in _choices(rest, may, pins):
        if spot not in pins:
            yield choice
        for member in may[spot]:
            if pins.get(spot, member) == member and member not in choice.values():
                yield {**choice, spot: member}


class _SegmentList:
    """The lineups of one segment, with what each costs."""

    def __init__(self, problem: LineupProblem, segment: Segment) -> None:
        self.problem, self.segment = problem, segment
        self.members: dict[str, Member] = {m.key: m for m in problem.members}
        self.spots: dict[str, Spot] = {s.key: s for s in problem.spots}
        self.open = [s for s in segment.spots if (segment.key, s) not in problem.left_open]
        self.may = {
            spot: [
                m.key
                for m in problem.members
                if evaluate.may_march(problem, m, (segment.key, spot))
            ]
            for spot in self.open
        }
        self.cost = {(m, s): self._arc(m, s) for s in self.open for m in self.may[s]}
        self.home = {
            member: spot
            for (key, spot), member in problem.reference
            if key == segment.key
            and spot in self.open
            and member in self.members
            and key not in self.members[member].away
        }
        in_rank: dict[str, list[str]] = {}
        for spot in self.open:
            in_rank.setdefault(self.spots[spot].rank, []).append(spot)
        self.led = [
            (set(rank.leaders), in_rank[rank.key])
            for rank in problem.ranks
            if rank.leaders and rank.key in in_rank
        ]

    def _arc(self, member_key: str, spot_key: str) -> Values:
        """Levels 5-8 of one placement."""
        problem, member, spot = self.problem, self.members[member_key], self.spots[spot_key]
        tie = evaluate.tie_hash(problem.settings.salt, member_key, spot_key)
        if member.holds == spot_key:
            return (0, 0, 0, tie)
        lessons = sum(c for m, s, c in problem.relearning if (m, s) == (member_key, spot_key))
        standing = evaluate.standing_cost(problem, member, spot)
        return (standing, lessons, evaluate.fairness_cost(problem, member), tie)

    def _moved(self, choice: Choice) -> list[int]:
        where = {member: spot for spot, member in choice.items()}
        costs = []
        for member, spot in self.home.items():
            now = where.get(member)
            if now == spot:
                costs.append(0)
            elif now is not None and self.spots[now].rank != self.spots[spot].rank:
                costs.append(3)
            else:
                costs.append(2)
        return costs

    def _stand_ins(self, choice: Choice) -> frozenset[tuple[str, str]]:
        if len(self.problem.segments) < 2:
            return frozenset()
        return frozenset((m, s) for s, m in choice.items() if self.members[m].holds != s)

    def _in_stock(self, choice: Choice) -> bool:
        return all(
            sum(
                evaluate.needs_school_instrument(self.problem, self.members[m], self.spots[s], kind)
                for s, m in choice.items()
            )
            <= count
            for kind, count in self.problem.stock
        )

    def _values(self, choice: Choice, moved: list[int]) -> Values:
        weigh = self.problem.settings.use_weights
        holes = sum(self.spots[s].weight if weigh else 1 for s in self.open if s not in choice)
        without = sum(
            not leaders & {choice[s] for s in spots if s in choice} for leaders, spots in self.led
        )
        later = [self.cost[m, s] for s, m in choice.items()]
        return (holes, without, sum(moved), *(sum(c[k] for c in later) for k in range(4)))

    def best_by_key(self) -> dict[Key, tuple[Values, Choice]]:
        """The best lineup of the segment for each set carried and each set of stand-ins."""
        pins = {p.spot: p.member for p in self.problem.pins if p.segment == self.segment.key}
        best: dict[Key, tuple[Values, Choice]] = {}
        for choice in _choices(self.open, self.may, pins):
            if not self._in_stock(choice):
                continue
            moved = self._moved(choice)
            most = self.problem.max_moved
            if most is not None and sum(c > 0 for c in moved) > most:
                continue
            carried = choice.values() if self.problem.travel_limit is not None else ()
            taken = [((self.segment.key, s), m) for s, m in choice.items()]
            needs = evaluate.needs_of(self.problem, taken)
            key = (frozenset(carried), self._stand_ins(choice), needs)
            values = self._values(choice, moved)
            if key not in best or values < best[key][0]:
                best[key] = (values, choice)
        return best


def _join(
    problem: LineupProblem, segments: list[dict[Key, tuple[Values, Choice]]]
) -> tuple[Values, list[Choice]] | None:
    """The best choice over all segments within the travel limit."""
    must = frozenset(m.key for m in problem.members if m.must_travel)
    nobody: Key = (must, frozenset(), frozenset())
    joined: dict[Key, tuple[Values, list[Choice]]] = {nobody: ((0,) * 7, [])}
    for lineups in segments:
        after: dict[Key, tuple[Values, list[Choice]]] = {}
        for (carried, stand_ins, needs), (values, choices) in joined.items():
            for (more, also, needed), (add, choice) in lineups.items():
                key = (carried | more, stand_ins | also, needs | needed)
                total = tuple(a + b for a, b in zip(values, add, strict=True))
                if key not in after or total < after[key][0]:
                    after[key] = (total, [*choices, choice])
        joined = after
    allowed = [
        ((*values[:3], evaluate.split_spots(set(stand_ins)), *values[3:]), choices)
        for (carried, stand_ins, needs), (values, choices) in joined.items()
        if problem.travel_limit is None or len(carried) <= problem.travel_limit
        if evaluate.dressed(problem, needs)
    ]
    return min(allowed, key=lambda answer: answer[0], default=None)


def brute_force(problem: LineupProblem) -> Best | None:
    """The optimum of a tiny problem, or None where no lineup keeps every rule."""
    if evaluate.pins_contradict(problem):
        return None
    lists = [_SegmentList(problem, segment).best_by_key() for segment in problem.segments]
    answer = _join(problem, lists)
    if answer is None:
        return None
    values, choices = answer
    chosen = {
        (segment.key, spot): member
        for segment, choice in zip(problem.segments, choices, strict=True)
        for spot, member in choice.items()
    }
    return Best(values, as_placements(problem, chosen))


def as_placements(
    problem: LineupProblem, chosen: dict[tuple[str, str], str]
) -> tuple[Placement, ...]:
    """The chosen members, seat by seat, with nobody on the rest."""
    return tuple(
        Placement(
            g, s, chosen.get((g, s)), evaluate.expected_origin(problem, g, s, chosen.get((g, s)))
        )
        for g, s in evaluate.seats_of(problem)
    )
