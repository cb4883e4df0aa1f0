"""What members would have to relearn, as columns: tens of thousands of pairs, read by arrays."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field

import numpy as np
import numpy.typing as npt

Ints = npt.NDArray[np.int64]
Row = tuple[str, str, int]


def no_ints() -> Ints:
    """None of them."""
    return np.zeros(0, np.int64)


@dataclass(frozen=True, slots=True, eq=False)
class Lessons:
    """Entry k: ``members[member[k]]`` would relearn ``cost[k]`` (0-255) for ``spots[spot[k]]``.

    Keys and entries are sorted, each pair is there once; iterating gives (member, spot, cost).
    """

    members: tuple[str, ...] = ()
    spots: tuple[str, ...] = ()
    member: Ints = field(default_factory=no_ints)
    spot: Ints = field(default_factory=no_ints)
    cost: Ints = field(default_factory=no_ints)

    @classmethod
    def of(cls, rows: Iterable[Row]) -> Lessons:
        """The columns of rows in any order; of two costs of a pair the larger counts."""
        rows = list(rows)
        if not rows:
            return cls()
        members, spots, costs = zip(*rows, strict=True)
        return cls.of_columns(*_numbered(members), *_numbered(spots), np.array(costs, np.int64))

    @classmethod
    def of_columns(
        cls, members: tuple[str, ...], member: Ints, spots: tuple[str, ...], spot: Ints, cost: Ints
    ) -> Lessons:
        """The same from numbers of sorted keys."""
        pair = member * max(len(spots), 1) + spot
        order = np.lexsort((cost, pair))
        pair = pair[order]
        last = order[np.flatnonzero(np.append(pair[1:] != pair[:-1], len(pair) > 0))]
        return cls(members, spots, member[last], spot[last], cost[last])

    def __iter__(self) -> Iterator[Row]:
        members, spots = self.members, self.spots
        entries = zip(self.member.tolist(), self.spot.tolist(), self.cost.tolist(), strict=True)
        return ((members[m], spots[s], cost) for m, s, cost in entries)

    def __len__(self) -> int:
        return len(self.cost)

    def __eq__(self, other: object) -> bool:
        return isinstance(other, Lessons) and list(self) == list(other)

    def __hash__(self) -> int:
        return hash((len(self), self.cost.tobytes()))


def _numbered(keys: Iterable[str]) -> tuple[tuple[str, ...], Ints]:
    """The keys once each, sorted, and each one's number."""
    listed = list(keys)
    known = sorted(set(listed))
    number = {key: n for n, key in enumerate(known)}
    return tuple(known), np.fromiter((number[key] for key in listed), np.int64, len(listed))
