"""Chains from an open spot: whom it could take, what that opens, and who is free at the end."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass

Pair = tuple[str, str]
"""(member, spot) where the member may march"""


@dataclass(frozen=True)
class Chains:
    """One segment as it stands: ``wanted`` are the spots on chains from the open spot (itself
    too), ``refilled`` those that a chain from somebody free can fill again."""

    stands: Mapping[str, str]
    """member -> spot"""
    free: Collection[str]
    wanted: frozenset[str]
    refilled: frozenset[str]

    def fill(self, more: Collection[Pair] = ()) -> bool:
        """True when a chain fills the open spot once these pairs may march too: of one member,
        of one spot, or of one member's pin."""
        again = self.refilled | {s for m, s in more if self._comes(m, self.refilled)}
        if self.wanted & self.refilled:
            return True
        return any(s in self.wanted and self._comes(m, again) for m, s in more)

    def _comes(self, member: str, refilled: Collection[str]) -> bool:
        return member in self.free or self.stands.get(member) in refilled


def chains(
    open_spots: Collection[str],
    stands: Mapping[str, str],
    free: Collection[str],
    pairs: Iterable[Pair],
) -> Chains:
    """The chains of a segment. ``free`` members stand nowhere and may be taken."""
    may: dict[str, list[str]] = defaultdict(list)
    able: dict[str, list[str]] = defaultdict(list)
    for member, spot in pairs:
        may[member].append(spot)
        able[spot].append(member)
    occupant = {spot: member for member, spot in stands.items()}
    onward = {s: [stands[m] for m in able[s] if m in stands] for s in able}
    back = {s: may[m] for s, m in occupant.items()}
    first = {spot for member in free for spot in may[member]}
    return Chains(stands, free, _closed(open_spots, onward), _closed(first, back))


def _closed(start: Collection[str], steps: Mapping[str, Collection[str]]) -> frozenset[str]:
    found, queue = set(start), list(start)
    while queue:
        for spot in steps.get(queue.pop(), ()):
            if spot not in found:
                found.add(spot)
                queue.append(spot)
    return frozenset(found)
