"""The arcs of the lineup graph (who may march which seat) and their cost at every level."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np
import numpy.typing as npt

from drill.lineup.core.kept import kept
from drill.lineup.core.lessons import Lessons
from drill.lineup.core.level_values import tie_cost
from drill.lineup.core.problem import (
    Backup,
    Block,
    Level,
    LineupProblem,
    Pin,
    Seat,
    Segment,
    Settings,
    Spare,
    Wear,
)
from drill.lineup.core.rules import block_applies
from drill.lineup.core.solver.arc_costs import home_spots, moved_costs, standing_levels
from drill.lineup.core.solver.index import (
    Bools,
    Ints,
    People,
    Places,
    read_people,
    read_places,
    runs,
)


@dataclass(frozen=True)
class Arcs:
    """Allowed (member, seat) pairs sorted by seat then member, with integer level costs.

    Arrays have one entry an arc, except ``seat_*`` (one a seat) and ``start`` (the first arc of
    each seat, and the end). MOVED entries are differences from what it costs when nobody of the
    reference is placed.
    """

    places: Places
    people: People
    salt: int
    seats: tuple[Seat, ...]
    seat_segment: Ints
    seat_spot: Ints
    seat_pinned: Bools
    kin: Ints
    """seat -> a number; seats of one number have the same members. -1: the seat may have others"""
    start: Ints
    member: Ints
    seat: Ints
    takes_stock: Bools
    stays: Bools
    costs: dict[Level, Ints]
    ranges: dict[Level, tuple[int, int]]
    """the least and the largest cost of each of these levels"""
    reference_count: Ints
    """segment -> how many may stay in their reference seat"""
    tie: npt.NDArray[np.int32]
    """the TIE costs known so far, -1 for others"""

    @property
    def size(self) -> int:
        return len(self.member)

    @cached_property
    def every(self) -> Ints:
        """All of them."""
        return np.arange(self.size)

    def of(self, values: Ints, arcs: Ints) -> Ints:
        """The values of some arcs; of ``every`` one themselves, not a copy."""
        return values if arcs is self.every else values[arcs]

    def tie_costs(self, wanted: Ints) -> Ints:
        """The TIE costs of the wanted arcs. Hashing all would cost more than solving; what was
        hashed is kept."""
        new = wanted[self.tie[wanted] < 0]
        if len(new):
            self._hash(new)
        return self.tie[wanted].astype(np.int64)

    def _hash(self, wanted: Ints) -> None:
        members, spots, width = self.people.keys, self.places.keys, len(self.places.keys)
        pairs = self.member[wanted] * width + self.seat_spot[self.seat[wanted]]
        once, where = np.unique(pairs, return_inverse=True)
        costs = [tie_cost(self.salt, members[p // width], spots[p % width]) for p in once.tolist()]
        self.tie[wanted] = np.array(costs, np.int32)[where]

    def find(self, seat: int, member: int) -> int:
        """The arc of a member on a seat; KeyError when there is none."""
        start, end = int(self.start[seat]), int(self.start[seat + 1])
        arc = start + int(np.searchsorted(self.member[start:end], member))
        if arc == end or self.member[arc] != member:
            raise KeyError((seat, member))
        return arc


def build_arcs(problem: LineupProblem) -> Arcs:
    """All arcs of a canonical problem."""
    return _arcs(
        read_places(problem),
        read_people(problem),
        problem.segments,
        problem.left_open,
        problem.blocks,
        problem.pins,
        problem.reference,
        problem.backups,
        problem.relearning,
        problem.settings,
        problem.wears,
        problem.spares,
    )


@kept(3)
def _arcs(
    places: Places,
    people: People,
    segments: tuple[Segment, ...],
    left_open: frozenset[Seat],
    blocks: tuple[Block, ...],
    pins: tuple[Pin, ...],
    reference: tuple[tuple[Seat, str], ...],
    backups: tuple[Backup, ...],
    relearning: Lessons,
    settings: Settings,
    wears: tuple[Wear, ...],
    spares: tuple[Spare, ...],
) -> Arcs:
    seats = tuple((g.key, s) for g in segments for s in g.spots if (g.key, s) not in left_open)
    number = {g.key: n for n, g in enumerate(segments)}
    segment = np.array([number[g] for g, _ in seats], np.int64)
    spots = np.array([places.number[s] for _, s in seats], np.int64)
    kin, start, member, stock = _allowed_pairs(places, people, segment, spots)
    seat = np.repeat(np.arange(len(seats)), np.diff(start))
    pinned = np.zeros(len(seats), np.bool_)
    keep = _experienced(places, people, member, spots[seat])
    position = {s: j for j, s in enumerate(seats)}
    if people.lacks:
        keep &= ~_undressed(
            places, people, number, wears, spares, member, segment[seat], spots[seat]
        )
    kin[seat[~keep]] = -1
    _block(keep, kin, blocks, seats, start, member, people)
    if pins:
        kin[:] = -1
    for pin in pins:
        j, i = position[pin.segment, pin.spot], people.number[pin.member]
        pinned[j] = True
        touches = (seat == j) | ((member == i) & (segment[seat] == segment[j]))
        keep &= ~touches | ((seat == j) & (member == i))
    if not keep.all():
        member, seat, stock = member[keep], seat[keep], stock[keep]
        start = np.searchsorted(seat, np.arange(len(seats) + 1))
    spot = spots[seat]
    home = home_spots(places, people, number, position, reference)
    moved, stays = moved_costs(places, home, member, segment[seat], spot)
    costs = standing_levels(places, people, member, spot, backups, relearning, settings)
    costs[Level.MOVED] = moved
    return Arcs(
        places,
        people,
        settings.salt,
        seats,
        segment,
        spots,
        pinned,
        kin,
        start,
        member,
        seat,
        stock,
        stays,
        costs,
        {lv: (int(c.min(initial=0)), int(c.max(initial=0))) for lv, c in costs.items()},
        (home >= 0).sum(axis=1),
        np.full(len(member), -1, np.int32),
    )


def _allowed_pairs(
    places: Places, people: People, segment: Ints, spot: Ints
) -> tuple[Ints, Ints, Ints, Bools]:
    """Which seats have the same arcs, where each one's start, their members, and who takes a
    school instrument."""
    parts = max(len(people.able), 1)
    group = segment * parts + places.part[spot] if len(spot) else spot
    found: list[tuple[Ints, Bools]] = []
    place = np.zeros(int(group.max(initial=-1)) + 1, np.int64)
    for at in np.flatnonzero(np.bincount(group)).tolist():
        able, own = people.able[at % parts]
        here = ~people.away[at // parts, able]
        place[at] = len(found)
        found.append((able[here], ~own[here]))
    if not found:
        return spot.copy(), np.zeros(len(spot) + 1, np.int64), spot[:0], np.zeros(0, np.bool_)
    size = np.array([len(able) for able, _ in found])
    first = np.cumsum(size) - size
    of_seat = place[group]
    start = np.append(0, np.cumsum(size[of_seat]))
    which = runs(first[of_seat], size[of_seat])
    member = np.concatenate([able for able, _ in found])[which]
    return of_seat, start, member, np.concatenate([takes for _, takes in found])[which]


def _experienced(places: Places, people: People, member: Ints, spot: Ints) -> Bools:
    if not len(member):
        return np.ones(0, np.bool_)
    fine: Bools = ~places.needs_experience[spot] | people.experienced[member]
    fine |= people.holds[member] == spot
    return fine


def _undressed(
    places: Places,
    people: People,
    segments: dict[str, int],
    wears: tuple[Wear, ...],
    spares: tuple[Spare, ...],
    member: Ints,
    segment: Ints,
    spot: Ints,
) -> Bools:
    """Arcs whose member lacks something that no spare piece can be."""
    there = {(s.kind, s.size) for s in spares if s.count}
    found = np.zeros(len(member), np.bool_)
    hopeless: dict[str, list[int]] = {}
    for who, lack in people.lacks:
        if not any((lack.kind, size) in there for size in lack.fits):
            hopeless.setdefault(lack.kind, []).append(who)
    for kind, numbers in hopeless.items():
        lacks = np.zeros(len(people.keys), np.bool_)
        lacks[numbers] = True
        found |= lacks[member] & worn(places, segments, wears, kind)[segment, places.part[spot]]
    return found


def worn(places: Places, segments: dict[str, int], wears: tuple[Wear, ...], kind: str) -> Bools:
    """Segment x part: whether a kind of piece is worn."""
    found = np.zeros((len(segments), max(len(places.parts), 1)), np.bool_)
    for wear in wears:
        if wear.kind == kind and wear.segment in segments and wear.part in places.parts:
            found[segments[wear.segment], places.parts[wear.part]] = True
    return found


def _block(
    keep: Bools,
    kin: Ints,
    blocks: tuple[Block, ...],
    seats: tuple[Seat, ...],
    start: Ints,
    member: Ints,
    people: People,
) -> None:
    """Take out what the blocks forbid; those of a spot set its seats apart."""
    where: dict[int, list[Block]] = {}
    for block in blocks:
        if block.member in people.number:
            where.setdefault(people.number[block.member], []).append(block)
    blocked = np.zeros(len(people.keys), np.bool_)
    blocked[list(where)] = True
    touched = np.flatnonzero(blocked[member]) if len(blocked) else member
    seat = np.searchsorted(start, touched, side="right") - 1
    for arc, j in zip(touched.tolist(), seat.tolist(), strict=True):
        applies = [block for block in where[int(member[arc])] if block_applies(block, *seats[j])]
        keep[arc] &= not applies
        if any(block.spot for block in applies):
            kin[j] = -1
