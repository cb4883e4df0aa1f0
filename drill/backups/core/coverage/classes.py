"""Who can answer for whom in one segment, by classes of seats that the same members can march.

A seat is answered by a free member, or by a member of another seat whose own seat is answered.
Seats with the same members share everything: how far the nearest free member is, who can answer
and whom the answer hangs on. So every single absence takes one search over the classes, and the
members on whom answers hang (dominators) come from one more pass over them.
"""

from __future__ import annotations

from collections import deque
from dataclasses import dataclass, field
from functools import cached_property

import numpy as np

from drill.backups.core.coverage.ground import NOBODY, Ground
from drill.lineup.core.solver.index import Ints

ROOT = -1
NOWHERE = -1


@dataclass
class SeatClasses:
    """``rows``: the members of each class."""

    rows: list[list[int]]
    of_seat: list[int]
    """seat -> its class, NOWHERE in other segments"""
    home: list[int]
    """member -> the class of the seat where they stand, or NOWHERE"""

    @classmethod
    def of(cls, ground: Ground, seats: Ints) -> SeatClasses:
        number, heads = _numbered(ground, seats)
        rows = [ground.member[ground.start[j] : ground.start[j + 1]].tolist() for j in heads]
        of_seat = np.full(len(ground.occupant), NOWHERE)
        of_seat[seats] = number
        home = np.full(ground.people, NOWHERE)
        occupant = ground.occupant[seats]
        home[occupant[occupant != NOBODY]] = number[occupant != NOBODY]
        return cls(rows, of_seat.tolist(), home.tolist())

    @property
    def free(self) -> list[list[int]]:
        """The free members of each class."""
        return self._coming[0]

    @property
    def feeders(self) -> list[dict[int, list[int]]]:
        """For each class, who could move there, by the other class they would leave."""
        return self._coming[1]

    @cached_property
    def _coming(self) -> tuple[list[list[int]], list[dict[int, list[int]]]]:
        free: list[list[int]] = []
        feeding: list[dict[int, list[int]]] = []
        home = self.home
        for number, row in enumerate(self.rows):
            stands_nowhere: list[int] = []
            feeders: dict[int, list[int]] = {}
            for m in row:
                left = home[m]
                if left == NOWHERE:
                    stands_nowhere.append(m)
                elif left != number:
                    feeders.setdefault(left, []).append(m)
            free.append(stands_nowhere)
            feeding.append(feeders)
        return free, feeding

    @cached_property
    def fed(self) -> list[list[int]]:
        """For each class, the classes its members could move to."""
        found: list[list[int]] = [[] for _ in self.rows]
        for number, feeders in enumerate(self.feeders):
            for left in feeders:
                found[left].append(number)
        return found

    @cached_property
    def distance(self) -> dict[int, int]:
        """Class -> moves of its shortest answer, nearest first; without an answer left out."""
        far = {number: 1 for number, free in enumerate(self.free) if free}
        queue = deque(far)
        while queue:
            here = queue.popleft()
            for number in self.fed[here]:
                if number not in far:
                    far[number] = far[here] + 1
                    queue.append(number)
        return far

    @cached_property
    def answers(self) -> list[int]:
        """For each class, how many free members can answer, directly or by a chain."""
        bit: dict[int, int] = {}
        reach = []
        for free in self.free:
            reach.append(0)
            for m in free:
                reach[-1] |= 1 << bit.setdefault(m, len(bit))
        queue = deque(self.distance)
        while queue:
            here = queue.popleft()
            for number in self.fed[here]:
                if reach[here] & ~reach[number]:
                    reach[number] |= reach[here]
                    queue.append(number)
        return [bits.bit_count() for bits in reach]

    @cached_property
    def hangs_on(self) -> dict[int, tuple[int, ...]]:
        """Class -> the members without whom no answer is left, the free member's end first."""
        tree = _Tree(self, {number: n for n, number in enumerate(self.distance)})
        tree.settle()
        return {number: tree.above(number) for number in self.distance}


def _numbered(ground: Ground, seats: Ints) -> tuple[Ints, list[int]]:
    """The class of each seat, and a seat of each class."""
    kin = ground.kin[seats]
    plain = kin >= 0
    head = np.full(int(kin.max(initial=-1)) + 1, -1)
    head[kin[plain]] = seats[plain]
    there = head >= 0
    number = np.append(np.cumsum(there) - 1, 0)[kin]
    heads = head[there].tolist()
    odd, numbers = np.flatnonzero(~plain), dict[bytes, int]()
    members, bounds, width = ground.member.tobytes(), ground.start.tolist(), ground.member.itemsize
    found = []
    for seat in seats[odd].tolist():
        row = members[bounds[seat] * width : bounds[seat + 1] * width]
        found.append(numbers.setdefault(row, len(heads)))
        if found[-1] == len(heads):
            heads.append(seat)
    number[odd] = found
    return number, heads


@dataclass
class _Tree:
    """The tree of members on whom answers hang, by the iteration of Cooper, Harvey and Kennedy
    (2001) with the order of the search as numbers.

    ``meeting``: class -> the last member (or ROOT) through whom all its answers pass. Who stands
    in a seat of the class hangs on that one; any two of them have no more than that in common.
    """

    classes: SeatClasses
    order: dict[int, int]
    meeting: dict[int, int] = field(default_factory=dict)

    def settle(self) -> None:
        """Points only ever go towards ROOT: who is there stays."""
        waiting, changed = list(self.order), True
        while changed:
            changed, below = False, []
            for number in waiting:
                point = self._meet(number)
                if self.meeting.get(number) != point:
                    self.meeting[number] = point
                    changed = True
                if point != ROOT:
                    below.append(number)
            waiting = below

    def above(self, number: int) -> tuple[int, ...]:
        """The members on whom a class hangs, the farthest first."""
        chain = []
        node = self.meeting[number]
        while node != ROOT:
            chain.append(node)
            node = self._parent(node)
        return tuple(reversed(chain))

    def _meet(self, number: int) -> int:
        free = self.classes.free[number]
        if len(free) > 1:
            return ROOT
        point = free[0] if free else None
        for left, members in self.classes.feeders[number].items():
            if left in self.meeting:
                node = members[0] if len(members) == 1 else self.meeting[left]
                point = node if point is None else self._common(point, node)
                if point == ROOT:
                    break
        assert point is not None, "it was reached from one of them"
        return point

    def _common(self, a: int, b: int) -> int:
        home, rank = self.classes.home, self._rank
        while a != b:
            if a == ROOT or b == ROOT:
                return ROOT
            if rank[home[a]] > rank[home[b]]:
                a = self._parent(a)
            else:
                b = self._parent(b)
        return a

    def _parent(self, node: int) -> int:
        home = self.classes.home[node]
        return ROOT if home == NOWHERE else self.meeting[home]

    @cached_property
    def _rank(self) -> list[int]:
        """The order of each class, and at last of NOWHERE."""
        return [*(self.order.get(n, -1) for n in range(len(self.classes.rows))), -1]
