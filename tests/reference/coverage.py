"""Coverage read off its definition, by trying every way of filling the seats that are filled.

Shares no code with ``drill.backups.core.coverage``; slow on purpose.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field, replace
from itertools import combinations

from drill.lineup.core.problem import LineupProblem, Placement, Seat
from tests.reference import evaluate

Pairs = frozenset[tuple[str, str]]
Filling = dict[Seat, str]


@dataclass
class Reference:
    """A lineup as given, with everything that decides who may fill its seats."""

    problem: LineupProblem
    placements: tuple[Placement, ...]
    known: Pairs | None = None
    stands: Filling = field(init=False)

    def __post_init__(self) -> None:
        self.stands = {(p.segment, p.spot): p.member for p in self.placements if p.member}
        self.members = {m.key: m for m in self.problem.members}
        self.spots = {s.key: s for s in self.problem.spots}
        here = {(member, spot) for (_, spot), member in self.stands.items()}
        self.all_known = None if self.known is None else self.known | here

        self.allowed = {
            (m.key, seat)
            for m in self.problem.members
            for seat in self.stands
            if evaluate.may_march(self.problem, m, seat)
            and (self.all_known is None or (m.key, seat[1]) in self.all_known)
        }

    def may(self, member: str, seat: Seat, out: frozenset[str] = frozenset()) -> bool:
        """Qualified, present, knowing the spot, and against no pin but of those who are out."""
        against = any(
            pin.segment == seat[0]
            and pin.member not in out
            and (pin.member == member) != (pin.spot == seat[1])
            for pin in self.problem.pins
        )
        return member not in out and (member, seat) in self.allowed and not against

    def fillings(self, seats: list[Seat], out: frozenset[str]) -> Iterator[Filling]:
        """Every way of giving all the seats (of one segment) to somebody."""
        able = [[m for m in sorted(self.members) if self.may(m, s, out)] for s in seats]

        def rest(number: int, taken: Filling) -> Iterator[Filling]:
            if number == len(seats):
                yield dict(taken)
                return
            for member in able[number]:
                if member not in taken.values():
                    taken[seats[number]] = member
                    yield from rest(number + 1, taken)
                    del taken[seats[number]]

        return rest(0, {})

    def in_stock(self, filling: Filling) -> bool:
        """Whether the school's instruments are enough in one segment."""
        return all(
            sum(
                evaluate.needs_school_instrument(self.problem, self.members[m], self.spots[s], kind)
                for (_, s), m in filling.items()
            )
            <= count
            for kind, count in self.problem.stock
        )

    def filled(self, segment: str) -> list[Seat]:
        return sorted(seat for seat in self.stands if seat[0] == segment)

    def can_fill(
        self,
        wanted: dict[str, list[Seat]],
        out: frozenset[str],
        *,
        stock: bool = True,
        travel: bool = True,
        dress: bool = True,
    ) -> bool:
        """Whether all wanted seats (by segment) can be filled at once under the side rules."""
        carried = frozenset(m.key for m in self.problem.members if m.must_travel)
        none: frozenset[evaluate.Need] = frozenset()
        going = {(carried, none)}
        for seats in wanted.values():
            ways = {
                (frozenset(filling.values()), evaluate.needs_of(self.problem, filling.items()))
                for filling in self.fillings(seats, out)
                if not stock or self.in_stock(filling)
            }
            going = {(a | b, c | d) for a, c in going for b, d in ways}
        limit = self.problem.travel_limit
        return any(
            (not travel or limit is None or len(people) <= limit)
            and (not dress or evaluate.dressed(self.problem, needs))
            for people, needs in going
        )

    def fewest_moves(self, seat: Seat) -> int | None:
        """How many members change their seat, at least, when the seat's member drops out."""
        out = frozenset({self.stands[seat]})
        counts = [
            sum(self.stands[place] != member for place, member in filling.items())
            for filling in self.fillings(self.filled(seat[0]), out)
            if self.in_stock(filling)
        ]
        return min(counts, default=None)

    def answered_without(self, seat: Seat, others: Iterable[str]) -> bool:
        """Whether the seat is still answered if others drop out too, their own seats apart.

        Side rules are left out.
        """
        out = frozenset({self.stands[seat], *others})
        seats = [s for s in self.filled(seat[0]) if s == seat or self.stands[s] not in out]
        return any(True for _ in self.fillings(seats, out))

    def free(self, segment: str) -> list[str]:
        standing = {m for (g, _), m in self.stands.items() if g == segment}
        return sorted(set(self.members) - standing)

    def hangs_on(self, seat: Seat) -> set[str]:
        """Members whose absence on top leaves the seat without an answer, side rules apart."""
        others = set(self.members) - {self.stands[seat]}
        return {m for m in others if not self.answered_without(seat, [m])}

    def answers(self, seat: Seat) -> int:
        """Free members who, as the only free one, could answer."""
        free = self.free(seat[0])
        return sum(self.answered_without(seat, set(free) - {f}) for f in free)

    def failing_pairs(self, segment: str) -> set[tuple[str, str]]:
        """Pairs who can each be answered for, and not both, side rules apart."""
        seats = self.filled(segment)
        alone = {self.stands[s] for s in seats if self.answered_without(s, [])}
        return {
            (a, b)
            for a, b in combinations(sorted(alone), 2)
            if not any(True for _ in self.fillings(seats, frozenset({a, b})))
        }

    def unanswered(self, learnt: Iterable[tuple[str, str]] = ()) -> set[Seat]:
        """Seats whose member cannot be answered for, side rules apart, after some lessons."""
        taught = self
        if learnt:
            taught = replace(self, known=(self.known or frozenset()) | frozenset(learnt))
        return {seat for seat in self.stands if not taught.answered_without(seat, [])}

    def lessons(self) -> list[tuple[str, str]]:
        """Every lesson for an alternate who stands nowhere, in a spot they may march already."""
        untaught = Reference(self.problem, self.placements)
        standing = set(self.stands.values())
        return sorted(
            {
                (member, seat[1])
                for seat in self.stands
                for member in set(self.members) - standing
                if self.members[member].holds is None
                and untaught.may(member, seat, frozenset({self.stands[seat]}))
                and (self.all_known is None or (member, seat[1]) not in self.all_known)
            }
        )

    def fewest_lessons(self) -> tuple[int, set[Seat]]:
        """How many lessons answer all that lessons can answer, and the seats that none can."""
        possible = self.lessons()
        hopeless = self.unanswered(possible)
        for count in range(len(possible) + 1):
            for taken in combinations(possible, count):
                if self.unanswered(taken) == hopeless:
                    return count, hopeless
        raise AssertionError

    def holes_without(self, member: str) -> int:
        """The fewest seats left empty when the member misses the whole event."""
        out = frozenset({member})
        every = sorted(self.stands)
        for count in range(len(every) + 1):
            for empty in combinations(every, count):
                wanted: dict[str, list[Seat]] = {}
                for seat in every:
                    if seat not in empty:
                        wanted.setdefault(seat[0], []).append(seat)
                if self.can_fill(wanted, out):
                    return count
        raise AssertionError
