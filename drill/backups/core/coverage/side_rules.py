"""Stock, travel and spare pieces: where they could bind, and whether they bear a chain."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from drill.backups.core.coverage.classes import SeatClasses
from drill.backups.core.coverage.ground import NOBODY, Ground
from drill.backups.core.coverage.spare_pieces import SparePieces
from drill.lineup.core.solver.index import Bools, Ints

Chain = list[tuple[int, int]]
"""(member, seat) moves, the one into the empty seat first"""


@dataclass(frozen=True)
class SideRules:
    """What the lineup as given uses of the limits."""

    ground: Ground

    @cached_property
    def stock(self) -> dict[int, int]:
        """Limited kind (by number) -> instruments."""
        counts = dict(self.ground.problem.stock)
        return {n: counts[kind] for n, kind in enumerate(self._kinds) if kind in counts}

    @cached_property
    def _kinds(self) -> list[str]:
        return sorted({p.instrument for p in self.ground.problem.parts})

    @cached_property
    def _kind_of_seat(self) -> Ints:
        number = {kind: n for n, kind in enumerate(self._kinds)}
        kind = {p.key: number[p.instrument] for p in self.ground.problem.parts}
        by_spot = np.array([kind[s.part] for s in self.ground.problem.spots], np.int64)
        return by_spot[self.ground.arcs.seat_spot]

    @cached_property
    def _home_arcs(self) -> Ints:
        """The arcs of those who stand where they stand."""
        ground = self.ground
        return np.flatnonzero(ground.occupant[ground.seat] == ground.member)

    @cached_property
    def _takes(self) -> set[tuple[int, int]]:
        """(member, seat) that take an instrument of a limited kind."""
        ground = self.ground
        limited = np.isin(self._kind_of_seat[ground.seat], list(self.stock))
        arcs = np.flatnonzero(limited & ground.takes_stock)
        return set(zip(ground.member[arcs].tolist(), ground.seat[arcs].tolist(), strict=True))

    @cached_property
    def _used(self) -> dict[tuple[int, int], int]:
        """(segment, kind) -> school instruments in use."""
        ground = self.ground
        used: dict[tuple[int, int], int] = {}
        for arc in self._home_arcs[ground.takes_stock[self._home_arcs]].tolist():
            seat = int(ground.seat[arc])
            key = int(ground.arcs.seat_segment[seat]), int(self._kind_of_seat[seat])
            used[key] = used.get(key, 0) + 1
        return used

    def direct_fits(self, arcs: slice) -> Bools:
        """For each arc, whether stock lets its member step into the seat its member left."""
        ground = self.ground
        takes, seat = ground.takes_stock[arcs], ground.seat[arcs]
        fits = np.ones(len(seat), np.bool_)
        if self.wardrobe.contested:
            fits &= self._dressed(arcs)
        if not self.stock:
            return fits
        freed = np.zeros(len(ground.occupant), np.bool_)
        freed[ground.seat[self._home_arcs]] = ground.takes_stock[self._home_arcs]
        for (segment, kind), left in self._left.items():
            here = (self._kind_of_seat[seat] == kind) & (ground.arcs.seat_segment[seat] == segment)
            fits &= ~(here & takes & ~freed[seat]) | (left >= 1)
            fits &= ~(here & takes & freed[seat]) | (left >= 0)
        return fits

    @cached_property
    def wardrobe(self) -> SparePieces:
        """Who needs which spare pieces."""
        return SparePieces(self.ground)

    @property
    def bends(self) -> bool:
        """Whether a chain has to be looked at before it is believed."""
        return bool(self.stock or self.wardrobe.contested)

    def _dressed(self, arcs: slice) -> Bools:
        """For each arc, whether its member could be dressed in place of whom they step in for."""
        seat, member = self.ground.seat[arcs], self.ground.member[arcs]
        fits = np.ones(len(seat), np.bool_)
        for n in np.flatnonzero(np.isin(member, list(self.wardrobe.contested))).tolist():
            step = [(int(member[n]), int(seat[n]))]
            fits[n] = self.wardrobe.bears(int(self.ground.occupant[seat[n]]), [step])
        return fits

    @cached_property
    def _left(self) -> dict[tuple[int, int], int]:
        """(segment, kind) -> instruments still in stock."""
        segments = range(len(self.ground.problem.segments))
        return {
            (g, kind): count - self._used.get((g, kind), 0)
            for kind, count in self.stock.items()
            for g in segments
        }

    def chain_fits(self, segment: int, chain: Chain) -> bool:
        """Whether stock bears the chain that answers the absence of the seat's member."""
        if not self.wardrobe.bears(int(self.ground.occupant[chain[0][1]]), [chain]):
            return False
        left = {kind: self._left[segment, kind] for kind in self.stock}
        for member, to in chain:
            kind = int(self._kind_of_seat[to])
            if kind in left:
                left[kind] += (int(self.ground.occupant[to]), to) in self._takes
                left[kind] -= (member, to) in self._takes
        return all(count >= 0 for count in left.values())

    def stock_could_bind(self, seats: Ints) -> Bools:
        """For each seat, whether its kind could run short with the filled seats all filled."""
        ground = self.ground
        out = np.zeros(len(seats), np.bool_)
        arcs = ground.arcs_of(seats)
        takes = ground.takes_stock[arcs] & (ground.occupant[ground.seat[arcs]] != NOBODY)
        seat, member = ground.seat[arcs][takes], ground.member[arcs][takes]
        for kind, count in self.stock.items():
            here = self._kind_of_seat[seat] == kind
            most = min(len(np.unique(seat[here])), len(np.unique(member[here])))
            if most > count:
                out |= self._kind_of_seat[seats] == kind
        return out

    @cached_property
    def travellers(self) -> set[int]:
        """Who travels with the lineup as given."""
        carried = {n for n, m in enumerate(self.ground.problem.members) if m.must_travel}
        return carried | self._standing

    @cached_property
    def _standing(self) -> set[int]:
        return set(self.ground.occupant.tolist()) - {NOBODY}

    def _promised(self, member: int) -> bool:
        """A place in the bus that stays theirs even when they drop out."""
        return self.ground.problem.members[member].must_travel

    def travel_could_bind(self, seats: Ints) -> set[int]:
        """Seats whose absences travel could leave without an answer. In a single segment a member
        who drops out leaves their place to who steps in, unless that place is theirs anyway."""
        limit = self.ground.problem.travel_limit
        if limit is None or self._everybody <= limit:
            return set()
        always = len(self.ground.problem.segments) > 1 or len(self.travellers) > limit
        rows = zip(seats.tolist(), self.ground.occupant[seats].tolist(), strict=True)
        return {s for s, who in rows if who != NOBODY and (always or self._promised(who))}

    @cached_property
    def _everybody(self) -> int:
        return len(self.travellers | set(self.ground.member.tolist()))

    def travel_fits(self, member: int, stepping_in: Iterable[int]) -> bool:
        """Whether the limit bears the members who step in when this one drops out."""
        limit = self.ground.problem.travel_limit
        if limit is None:
            return True
        promised = self.ground.problem.members[member].must_travel
        going = self.travellers if promised else self.travellers - {member}
        return len(going | set(stepping_in)) <= limit

    def surely_too_many(self, member: int) -> bool:
        """Whether all who march one segment again are too many to travel: no carried member who
        stands nowhere could march instead of one who takes a place."""
        limit = self.ground.problem.travel_limit
        if limit is None or len(self.ground.problem.segments) > 1 or not self._promised(member):
            return False
        carried = self.travellers - self._standing
        return len(self.travellers) >= limit and not carried & set(self.ground.member.tolist())

    def tainted(self, seats: Ints, classes: SeatClasses) -> set[int]:
        """Classes some of whose answers pass a seat whose stock or spare pieces could bind."""
        bind = self.stock_could_bind(seats) | np.isin(seats, self.wardrobe.seats)
        found = {classes.of_seat[s] for s in seats[bind].tolist()}
        queue = list(found)
        while queue:
            for number in classes.fed[queue.pop()]:
                if number not in found:
                    found.add(number)
                    queue.append(number)
        return found
