"""Who can wear which spare piece: a matching of wearers to sizes, as many of each as there are."""

from __future__ import annotations

from collections.abc import Hashable, Iterable, Mapping, Sequence
from typing import TypeVar

from drill.lineup.core.problem import Placement
from drill.lineup.core.rules import Facts

Wearer = TypeVar("Wearer", bound=Hashable)
Size = TypeVar("Size", bound=Hashable)


def dress(
    fits: Mapping[Wearer, Sequence[Size]], count: Mapping[Size, int]
) -> tuple[dict[Wearer, Size], tuple[Wearer, ...]]:
    """As many wearers as can be, each with a size, and those left over (Kuhn's augmenting paths;
    the earlier wearers go first)."""
    worn: dict[Wearer, Size] = {}
    taken: dict[Size, list[Wearer]] = {size: [] for size in count}

    def place(wearer: Wearer, seen: set[Size]) -> bool:
        for size in fits[wearer]:
            if size in seen or not count.get(size, 0):
                continue
            seen.add(size)
            if len(taken[size]) < count[size]:
                taken[size].append(wearer)
                worn[wearer] = size
                return True
            for number, other in enumerate(taken[size]):
                if place(other, seen):
                    taken[size][number] = wearer
                    worn[wearer] = size
                    return True
        return False

    return worn, tuple([wearer for wearer in fits if not place(wearer, set())])


def contested(
    fits: Mapping[Wearer, Sequence[Size]], count: Mapping[Size, int]
) -> tuple[Wearer, ...]:
    """The wearers of whom some subset may be more than can be dressed; all the others can be,
    whoever else is, from sizes of their own.

    These are the ones that alternating paths reach from who is left over by a largest matching.
    """
    worn, left = dress(fits, count)
    wearers: dict[Size, list[Wearer]] = {}
    for wearer, size in worn.items():
        wearers.setdefault(size, []).append(wearer)
    found, queue, sizes = set(left), list(left), set[Size]()
    while queue:
        for size in fits[queue.pop()]:
            if size in sizes:
                continue
            sizes.add(size)
            for wearer in wearers.get(size, ()):
                if wearer not in found:
                    found.add(wearer)
                    queue.append(wearer)
    return tuple(wearer for wearer in fits if wearer in found)


def needs(facts: Facts, rows: Iterable[Placement]) -> dict[str, dict[str, tuple[str, ...]]]:
    """Kind -> the members who march and need a spare of it, each with the sizes that fit."""
    found: dict[str, dict[str, tuple[str, ...]]] = {}
    for row in rows:
        if row.member is None:
            continue
        member, spot = facts.members[row.member], facts.spots[row.spot]
        for lack in facts.lacking(member, row.segment, spot):
            found.setdefault(lack.kind, {})[member.key] = lack.fits
    return {kind: dict(sorted(of.items())) for kind, of in sorted(found.items())}


def undressed(facts: Facts, rows: Iterable[Placement]) -> dict[str, tuple[str, ...]]:
    """Kind -> members for whom the spares do not suffice, though some of the others could go
    without instead."""
    found = {}
    for kind, fits in needs(facts, rows).items():
        left = dress(fits, sizes_of(facts, kind))[1]
        if left:
            found[kind] = left
    return found


def sizes_of(facts: Facts, kind: str) -> dict[str, int]:
    """Size -> pieces in store."""
    return {size: count for (of, size), count in facts.spares.items() if of == kind}
