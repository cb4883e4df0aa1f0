"""Whom somebody who stands in can ask about the spot: who leads its rank, who stands beside it,
who has learned it too.

That these three know a spot best is common practice, no source.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from enum import StrEnum


class Knows(StrEnum):
    """How somebody comes to know a spot."""

    LEADS = "leads the rank"
    BESIDE = "marches beside you"
    BACKUP = "backup for your spot"


@dataclass(frozen=True, slots=True)
class Asked:
    """A member to ask; ``spot`` is where they stand if they stand beside."""

    member: int
    knows: Knows
    spot: int | None = None


@dataclass(frozen=True)
class RankThere:
    """A rank in one segment: its spots in order, who stands on them, who of these is at home, and
    who leads it, one after another."""

    spots: Sequence[int]
    stands: Mapping[int, int]
    at_home: Collection[int]
    leaders: Sequence[int]


def whom_to_ask(
    rank: RankThere,
    *,
    spot: int,
    me: int,
    backups: Sequence[int],
    away: Collection[int],
) -> tuple[Asked, ...]:
    """At most one of each kind, nobody twice, nobody who is ``away``.

    Whoever leads; of the two neighbors one who is at home there before a stand-in, the lower
    number first; the first backup in order.
    """
    found: list[Asked] = []

    def add(asked: Asked | None) -> None:
        if asked is not None:
            found.append(asked)

    def free(member: int) -> bool:
        taken = {me, *away, *(a.member for a in found)}
        return member not in taken

    leads = (m for m in rank.leaders if free(m))
    add(next((Asked(m, Knows.LEADS) for m in leads), None))
    beside = [Asked(rank.stands[s], Knows.BESIDE, s) for s in _neighbors(rank, spot)]
    beside = [a for a in beside if free(a.member)]
    add(min(beside, key=lambda a: a.member not in rank.at_home, default=None))
    add(next((Asked(m, Knows.BACKUP) for m in backups if free(m)), None))
    return tuple(found)


def _neighbors(rank: RankThere, spot: int) -> list[int]:
    """The spots before and after, where somebody stands."""
    at = rank.spots.index(spot)
    near = [*rank.spots[max(at - 1, 0) : at], *rank.spots[at + 1 : at + 2]]
    return [s for s in near if s in rank.stands]
