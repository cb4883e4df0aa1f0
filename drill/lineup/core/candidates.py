"""Who could take a seat of a lineup as it stands, and what putting each there does and costs."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass
from functools import cached_property

from drill.lineup.core import exchanges
from drill.lineup.core.changes import MemberChange, member_changes
from drill.lineup.core.explain import Price
from drill.lineup.core.level_values import is_own_alternate, level_values
from drill.lineup.core.problem import (
    Level,
    LineupProblem,
    Member,
    Origin,
    Placement,
    Seat,
    Spot,
)
from drill.lineup.core.rules import Facts, WhyNot


@dataclass(frozen=True, slots=True)
class Effect:
    """What one button does to the lineup on the page, and nothing else: who changes, the seats
    that open, and what it costs (None where it was not worked out)."""

    changes: tuple[MemberChange, ...]
    opens: tuple[Seat, ...]
    price: Price | None = None


@dataclass(frozen=True, slots=True)
class Candidate:
    """A member for a seat: why not, or what each way to put them there does. ``swap`` changes two
    marchers' places in the segment, ``swap_all`` in every segment; None where it cannot be done or
    is no different from the others."""

    member: str
    why_not: tuple[WhyNot, ...]
    stands_at: str | None
    put: Effect | None = None
    swap: Effect | None = None
    swap_all: Effect | None = None


@dataclass(frozen=True)
class Draft:
    """A lineup's seats with their problem, ready for many what-ifs about one seat."""

    problem: LineupProblem
    seats: exchanges.Seats
    seat: Seat

    @cached_property
    def facts(self) -> Facts:
        return Facts(self.problem)

    @cached_property
    def stands(self) -> dict[str, str]:
        """Member -> spot, in the seat's segment."""
        here = ((s, m) for (g, s), m in self.seats.items() if g == self.seat[0])
        return {member: spot for spot, member in here if member}

    @cached_property
    def _values(self) -> dict[Level, int]:
        return self._levels(self.seats)

    def put(self, member: str, priced: bool) -> Effect | None:
        return self._effect(exchanges.put(self.seats, self.seat, member), priced)

    def swap(self, member: str, priced: bool) -> Effect | None:
        """With whoever stands in the seat, in its segment; None where either has no place."""
        other = self.seats.get(self.seat)
        if other is None or member not in self.stands:
            return None
        seats = exchanges.swap(self.seats, member, other, {self.seat[0]})
        return self._effect(seats, priced) if self._may(seats) else None

    def swap_all(self, member: str) -> Effect | None:
        """The same in every segment, where it changes more than this one."""
        other = self.seats.get(self.seat)
        if other is None:
            return None
        segments = {segment for segment, _ in self.seats}
        seats = exchanges.swap(self.seats, member, other, segments)
        more = any(segment != self.seat[0] for segment, _ in seats)
        return self._effect(seats, priced=False) if more and self._may(seats) else None

    def _may(self, seats: Mapping[Seat, str | None]) -> bool:
        """True when no rule keeps anybody from their new seat."""
        return not any(
            self.facts.why_not(self.facts.members[member], segment, self.facts.spots[spot])
            for (segment, spot), member in seats.items()
            if member is not None
        )

    def _effect(self, seats: Mapping[Seat, str | None], priced: bool) -> Effect | None:
        if not seats:
            return None
        after = {**self.seats, **seats}
        opens = tuple(sorted(s for s, m in seats.items() if m is None))
        price = self._price(after) if priced else None
        return Effect(member_changes(self.seats, after), opens, price)

    def _price(self, after: exchanges.Seats) -> Price:
        values = self._levels(after)
        differ = (level for level in Level if level is not Level.TIE)
        return tuple(
            (level, values[level] - self._values[level])
            for level in differ
            if values[level] != self._values[level]
        )

    def _levels(self, seats: exchanges.Seats) -> dict[Level, int]:
        rows = (
            Placement(*seat, member, Origin.STANDS_IN if member else Origin.HOLE)
            for seat, member in seats.items()
        )
        return level_values(self.problem, rows)


def candidates(
    problem: LineupProblem, seats: exchanges.Seats, seat: Seat, most: int = 8
) -> tuple[Candidate, ...]:
    """Members for a seat of the lineup: those who may march it, nearest first (``most`` of them
    with a price), then those of the spot's part and rank who may not, with the reasons."""
    segment, key = seat
    draft = Draft(problem, seats, seat)
    spot = draft.facts.spots[key]
    able, unable = [], []
    for member in problem.members:
        reasons = draft.facts.why_not(member, segment, spot)
        if not reasons:
            able.append(member)
        elif WhyNot.NOT_QUALIFIED not in reasons or _belongs(member, spot):
            unable.append(Candidate(member.key, reasons, draft.stands.get(member.key)))
    ranked = _ranked(draft, able, spot)
    found = [_candidate(draft, m.key, number < most) for number, m in enumerate(ranked)]
    return (*found, *unable)


def _candidate(draft: Draft, member: str, priced: bool) -> Candidate:
    stands_at = draft.stands.get(member)
    if stands_at == draft.seat[1]:
        return Candidate(member, (), stands_at)
    put, swap = draft.put(member, priced), draft.swap(member, priced)
    return Candidate(member, (), stands_at, put, swap, draft.swap_all(member))


def _ranked(draft: Draft, able: Collection[Member], spot: Spot) -> list[Member]:
    order = {c.member: c.order for c in draft.problem.backups if c.spot == spot.key}

    def nearness(member: Member) -> tuple[object, ...]:
        own = is_own_alternate(member, spot, draft.problem.settings.pool)
        return (
            draft.stands.get(member.key) != spot.key,
            order.get(member.key, 99),
            not own,
            member.key in draft.stands,
            not own and member.rank != spot.rank,
            member.standing or 0,
            member.key,
        )

    return sorted(able, key=nearness)


def _belongs(member: Member, spot: Spot) -> bool:
    return member.rank == spot.rank and member.standing is not None
