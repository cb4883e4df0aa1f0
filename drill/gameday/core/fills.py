"""Who could step in for somebody at once: directly, or by one chain, with what each would cost.

No solver: on the day staff choose, and see the order and what is missing.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Mapping
from dataclasses import dataclass, field
from functools import cached_property

from drill.lineup.core.level_values import is_own_alternate
from drill.lineup.core.problem import LineupProblem, Member, Seat
from drill.lineup.core.relearn import Load, farthest
from drill.lineup.core.rules import Facts

LAST = 99


@dataclass(frozen=True)
class Learning:
    """What spots ask of members. ``shows``: segment -> show; ``loads``: (member, spot, show) ->
    load, for every spot of a part that the member plays."""

    shows: Mapping[str, str] = field(default_factory=dict)
    loads: Mapping[tuple[str, str, str], Load] = field(default_factory=dict)

    def of(self, member: Member, seats: tuple[Seat, ...]) -> tuple[Load, ...]:
        """The loads of the seats, each show and spot once."""
        wanted = sorted({(self.shows[g], s) for g, s in seats if g in self.shows})
        found = (self.loads.get((member.key, spot, show)) for show, spot in wanted)
        return tuple(load for load in found if load is not None)


@dataclass(frozen=True, slots=True)
class Asked:
    """What a choice asks of one member: sets new to them, sets in all, and the load with the
    largest distance."""

    member: str
    new: int
    total: int
    farthest: Load | None = None


@dataclass(frozen=True, slots=True, order=True)
class Move:
    """One member goes to a seat; ``before`` is the spot they leave in that segment."""

    segment: str
    spot: str
    member: str
    before: str | None = None


@dataclass(frozen=True, slots=True)
class Choice:
    """A way to fill seats: who steps in, everybody who moves, and the sets that are new to them.

    ``order`` is the place among the named backups, ``standing`` that among the pool's alternates.
    ``lacking`` are seats of the request that this choice leaves open.
    """

    member: str
    moves: tuple[Move, ...]
    asked: tuple[Asked, ...]
    """the one who steps in first"""
    order: int | None
    standing: int | None
    lacking: tuple[Seat, ...] = ()

    @property
    def people(self) -> int:
        return len({move.member for move in self.moves})

    @property
    def new_sets(self) -> int:
        return sum(asked.new for asked in self.asked)

    @property
    def is_chain(self) -> bool:
        return self.people > 1


@dataclass(frozen=True)
class Field:
    """The lineup as it stands, ready for many questions."""

    problem: LineupProblem
    seats: Mapping[Seat, str | None]
    learning: Learning

    @cached_property
    def facts(self) -> Facts:
        return Facts(self.problem)

    @cached_property
    def stands(self) -> dict[tuple[str, str], str]:
        """(segment, member) -> spot"""
        return {(g, m): s for (g, s), m in self.seats.items() if m}

    @cached_property
    def pinned(self) -> frozenset[Seat]:
        """Seats whose member staff pinned there."""
        pins = self.problem.pins
        return frozenset(
            (p.segment, p.spot) for p in pins if self.seats.get((p.segment, p.spot)) == p.member
        )

    @cached_property
    def _players(self) -> dict[str, list[Member]]:
        """Part -> the members who play it."""
        found: dict[str, list[Member]] = defaultdict(list)
        for member in self.problem.members:
            for part in {skill.part for skill in member.skills}:
                found[part].append(member)
        return found

    def may(self, member: Member, seat: Seat) -> bool:
        """True when no rule keeps the member from the seat."""
        return not self.facts.why_not(member, seat[0], self.facts.spots[seat[1]])

    def players(self, seats: tuple[Seat, ...]) -> list[Member]:
        """Members who play a part of the seats, in order of key."""
        parts = {self.facts.spots[spot].part for _, spot in seats}
        found = {m.key: m for part in parts for m in self._players[part]}
        return [found[key] for key in sorted(found)]


def seats_of_member(field: Field, member: str, segments: Collection[str]) -> tuple[Seat, ...]:
    """Where the member stands in the segments."""
    stands = field.stands.items()
    return tuple(sorted((g, s) for (g, m), s in stands if m == member and g in segments))


def open_seats(field: Field, segments: Collection[str]) -> tuple[Seat, ...]:
    """Seats of the segments that nobody fills, and that are not left open by choice."""
    fillable = field.facts.seats - field.problem.left_open
    empty = (seat for seat, member in field.seats.items() if member is None)
    return tuple(sorted(seat for seat in empty if seat[0] in segments and seat in fillable))


def direct_choices(field: Field, seats: tuple[Seat, ...], out: str | None) -> list[Choice]:
    """Free members for the seats, but for whoever is ``out``: who can take most of them first,
    then named backups in order, then the alternates of the spots' pools by standing, then the
    fewest new sets."""
    found = []
    for member in field.players(seats):
        if member.key == out:
            continue
        able = tuple(
            seat
            for seat in seats
            if (seat[0], member.key) not in field.stands and field.may(member, seat)
        )
        if able:
            moves = tuple(Move(*seat, member.key) for seat in able)
            lacking = tuple(seat for seat in seats if seat not in able)
            found.append(_choice(field, member, able, moves, lacking))
    return sorted(found, key=_nearness)


def chain_choices(
    field: Field, seats: tuple[Seat, ...], out: str | None, most: int = 3
) -> list[Choice]:
    """A holder moves to the seats and a free member takes theirs: the fewest new sets first.

    Only chains that fill every seat and cost less new sets than the best direct choice of all.
    """
    whole = [c for c in direct_choices(field, seats, out) if not c.lacking]
    least = min((c.new_sets for c in whole), default=None)
    segments = tuple(g for g, _ in seats)
    found = []
    for mover in field.players(seats):
        left = tuple(
            (g, field.stands[g, mover.key]) for g in segments if (g, mover.key) in field.stands
        )
        if mover.key == out or len(left) < len(seats) or not field.pinned.isdisjoint(left):
            continue
        if not all(field.may(mover, seat) for seat in seats):
            continue
        best = _best_follower(field, left, {mover.key, out or ""})
        if best is None:
            continue
        moves = tuple(
            sorted(
                [Move(g, s, mover.key, field.stands[g, mover.key]) for g, s in seats]
                + [Move(g, s, best.key) for g, s in left]
            )
        )
        order, standing = _rung(field, best, left)
        asked = (_asked(field, best, left), _asked(field, mover, seats))
        found.append(Choice(best.key, moves, asked, order, standing))
    better = [c for c in found if least is None or c.new_sets < least]
    return sorted(better, key=lambda c: (c.new_sets, c.moves))[:most]


def _best_follower(field: Field, left: tuple[Seat, ...], taken: set[str]) -> Member | None:
    free = direct_choices(field, left, None)
    whole = [c for c in free if not c.lacking and c.member not in taken]
    best = min(whole, key=lambda c: (c.new_sets, _nearness(c)), default=None)
    return field.facts.members[best.member] if best else None


def _choice(
    field: Field,
    member: Member,
    able: tuple[Seat, ...],
    moves: tuple[Move, ...],
    lacking: tuple[Seat, ...],
) -> Choice:
    order, standing = _rung(field, member, able)
    return Choice(member.key, moves, (_asked(field, member, able),), order, standing, lacking)


def _asked(field: Field, member: Member, seats: tuple[Seat, ...]) -> Asked:
    found = field.learning.of(member, seats)
    new, total = sum(load.new for load in found), sum(load.total for load in found)
    return Asked(member.key, new, total, farthest(found))


def _rung(field: Field, member: Member, seats: tuple[Seat, ...]) -> tuple[int | None, int | None]:
    orders = [field.facts.backup_order.get((spot, member.key)) for _, spot in seats]
    named = [order for order in orders if order is not None]
    pool = field.problem.settings.pool
    own = any(is_own_alternate(member, field.facts.spots[spot], pool) for _, spot in seats)
    return (min(named) if named else None), (member.standing if own else None)


def _nearness(choice: Choice) -> tuple[object, ...]:
    return (
        len(choice.lacking),
        choice.order or LAST,
        choice.standing or LAST,
        choice.new_sets,
        choice.member,
    )
