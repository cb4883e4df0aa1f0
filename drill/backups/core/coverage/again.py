"""Single absences solved again, for those that a side rule might leave without an answer."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cached_property

from drill.backups.core.coverage.ground import NOBODY, Ground
from drill.backups.core.coverage.result import Limiting, Move
from drill.lineup.core.explain import try_solve
from drill.lineup.core.lessons import Lessons
from drill.lineup.core.problem import (
    Block,
    Level,
    LineupProblem,
    Part,
    Pin,
    Settings,
    Skill,
    Wear,
    of_segment,
)
from drill.lineup.core.rules import Facts
from drill.lineup.core.solver import Limits, Lineup

NOTHING = Lessons()


@dataclass(frozen=True, slots=True)
class Solved:
    """The lineup without one member: the seats nobody fills, who stands in the others, the rule
    that leaves a seat empty, and whether the number of empty ones is proven."""

    empty: frozenset[int]
    stands: dict[int, int]
    rule: Limiting | None
    proven: bool


@dataclass(frozen=True)
class Again:
    """Solves what is left when one more member is away; pins on them fall with them."""

    ground: Ground
    pins: tuple[Pin, ...]
    limits: Limits

    def without(self, member: int, segment: int) -> Solved:
        """The best lineup without the member: of the segment, or of all where travel or spare
        pieces couple them (who drops out then misses the whole event)."""
        lineup = self._solve(self.closed, member, segment)
        if lineup is None:
            lost = (self.ground.occupant == member).nonzero()[0].tolist()
            return Solved(frozenset(lost), {}, self._rule(member, segment), False)
        position = {seat: j for j, seat in enumerate(self.ground.arcs.seats)}
        empty = frozenset(position[p.segment, p.spot] for p in lineup.holes)
        stands = {
            position[p.segment, p.spot]: self.ground.arcs.people.number[p.member]
            for p in lineup.placements
            if p.member is not None
        }
        here = any(int(self.ground.arcs.seat_segment[seat]) == segment for seat in empty)
        rule = self._rule(member, segment) if here else None
        return Solved(empty, stands, rule, lineup.levels[Level.HOLES - 1].proven)

    def _rule(self, member: int, segment: int) -> Limiting:
        """The rule without which the seat is filled."""
        closed, name = self.closed, self.ground.problem.segments[segment].key
        rules = self._rules()
        for rule in rules[:-1]:
            dressed = tuple(replace(m, lacks=()) for m in closed.members)
            lifted = {"stock": ()} if rule is Limiting.STOCK else {"members": dressed}
            free = self._solve(replace(closed, **lifted), member, segment)
            if free is not None and all(p.segment != name for p in free.holes):
                return rule
        return rules[-1]

    def _rules(self) -> list[Limiting]:
        """The side rules there are; stock where there are none."""
        closed = self.closed
        there = {
            Limiting.STOCK: bool(closed.stock),
            Limiting.DRESS: any(m.lacks for m in closed.members),
            Limiting.TRAVEL: closed.travel_limit is not None,
        }
        return [rule for rule, is_there in there.items() if is_there] or [Limiting.STOCK]

    def _solve(self, closed: LineupProblem, member: int, segment: int) -> Lineup | None:
        key, every = self.ground.name(member), frozenset(g.key for g in closed.segments)
        problem = replace(
            closed,
            members=tuple(replace(m, away=every) if m.key == key else m for m in closed.members),
            pins=tuple(p for p in closed.pins if p.member != key),
        )
        name = self.ground.problem.segments[segment].key
        return try_solve(of_segment(problem, name), self.limits)

    @cached_property
    def closed(self) -> LineupProblem:
        """The problem whose holes are all new ones: seats empty now are left open, the lineup as
        given is the reference, and nobody marches what they do not know."""
        ground = self.ground
        problem = ground.problem if ground.known is None else _only_known(ground)
        seats = ground.arcs.seats
        filled = {
            seats[j]: problem.members[i].key
            for j, i in enumerate(ground.occupant.tolist())
            if i != NOBODY
        }
        kept = tuple(p for p in self.pins if filled.get((p.segment, p.spot)) == p.member)
        blocks = tuple(Block(p.member, p.segment) for p in self.pins if p not in kept)
        return replace(
            problem,
            ranks=(),
            relearning=NOTHING,
            reference=tuple(filled.items()),
            pins=kept,
            blocks=(*problem.blocks, *blocks),
            left_open=problem.left_open | (set(seats) - set(filled)),
            max_moved=None,
            settings=Settings(salt=problem.settings.salt),
        )


def _only_known(ground: Ground) -> LineupProblem:
    """The problem with every spot a part of its own, which those who know it play."""
    problem = ground.problem
    facts = Facts(problem)
    skills: dict[str, list[Skill]] = {}
    for member, spot in sorted(ground.known or ()):
        if member in facts.members and spot in facts.spots:
            skill = facts.skill(facts.members[member], facts.spots[spot])
            if skill is not None:
                skills.setdefault(member, []).append(Skill(spot, skill.own_instrument))
    kinds = {p.key: p.instrument for p in problem.parts}
    of_part: dict[str, list[str]] = {}
    for place in problem.spots:
        of_part.setdefault(place.part, []).append(place.key)
    return replace(
        problem,
        members=tuple(replace(m, skills=tuple(skills.get(m.key, ()))) for m in problem.members),
        spots=tuple(replace(s, part=s.key) for s in problem.spots),
        parts=tuple(Part(s.key, kinds[s.part]) for s in problem.spots),
        wears=tuple(
            Wear(w.segment, s, w.kind) for w in problem.wears for s in of_part.get(w.part, ())
        ),
    )


def moves_from(ground: Ground, seat: int, stands: dict[int, int]) -> tuple[Move, ...]:
    """Who goes where in the seat's segment until all stand as in ``stands``, ``seat`` first."""
    seats = ground.seats_of(int(ground.arcs.seat_segment[seat])).tolist()
    before = {int(ground.occupant[s]): s for s in seats}
    changed = {s: stands[s] for s in seats if s in stands and stands[s] != ground.occupant[s]}
    out: list[Move] = []
    for first in (seat, *sorted(changed)):
        place: int | None = first
        while place is not None and place in changed:
            member = changed.pop(place)
            left = before.get(member)
            source = None if left is None else ground.spots[left]
            out.append(Move(ground.name(member), source, ground.spots[place]))
            place = left
    return tuple(out)
