"""Selection under quotas: deferred acceptance of Gale and Shapley 1962 (American Mathematical
Monthly 69:9-15), candidates asking in their own order, parts keeping the highest figures.

Whoever raises their own mark never loses a place by it. Equal standing at the line is never
settled here: it is told, and names, numbers and the order of a file decide nothing.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from heapq import heappush, heapreplace

DECIMALS = 6
Standing = tuple[float, ...]
"""a candidate's figure, then what breaks ties in the published order; higher is better"""


@dataclass(frozen=True, slots=True)
class Applicant:
    """A candidate: parts in their own order, and their standing in each part's list."""

    key: int
    wishes: tuple[int, ...]
    standing: Standing

    @property
    def rounded(self) -> Standing:
        """What two candidates have to share to be tied."""
        return tuple(round(it, DECIMALS) for it in self.standing)


@dataclass(frozen=True, slots=True)
class Quota:
    """Spots of a part: the fewest it can march with, how many are to be filled, the most there is
    room for, and how many alternates stand by."""

    part: int
    least: int
    target: int
    most: int
    alternates: int

    @property
    def room(self) -> int:
        """Spots to fill: the minimum at least."""
        return max(self.least, self.target)


@dataclass(frozen=True, slots=True)
class Tie:
    """Candidates of equal standing of whom a part can take some only: ``inside`` have a spot (or
    an alternate's place), ``outside`` have not. Without anybody outside: alternates whose order
    is not settled."""

    part: int
    inside: tuple[int, ...]
    outside: tuple[int, ...]
    alternates: bool


@dataclass(frozen=True, slots=True)
class Trade:
    """A candidate who was moved so that a part reaches its minimum; ``of`` is the part they would
    have had."""

    key: int
    of: int | None
    to: int | None


@dataclass(frozen=True, slots=True)
class Selection:
    """``places``: candidate -> part. ``alternates``: part -> candidates by standing. ``places_of``:
    (candidate, part) -> their place among those who ended up competing for it."""

    places: Mapping[int, int]
    alternates: Mapping[int, tuple[int, ...]]
    places_of: Mapping[tuple[int, int], int]
    ties: tuple[Tie, ...]
    trades: tuple[Trade, ...] = ()
    short: Mapping[int, int] | None = None
    """part -> how many it lacks to its minimum"""


def select(applicants: Sequence[Applicant], quotas: Sequence[Quota]) -> Selection:
    """Who gets which part, who stands by, and which ties stand in the way."""
    return told(applicants, quotas, admitted(applicants, {q.part: q.room for q in quotas}))


def told(
    applicants: Sequence[Applicant], quotas: Sequence[Quota], places: Mapping[int, int]
) -> Selection:
    """``places`` with the alternates of whoever is left, the ties, and what is short."""
    spots = {q.part: q.room for q in quotas}
    left = [a for a in applicants if a.key not in places]
    standby = admitted(left, {q.part: q.alternates for q in quotas})
    ties = _ties(applicants, places, spots, alternates=False)
    ties += _ties(left, standby, {q.part: q.alternates for q in quotas}, alternates=True)
    ties += _equal_alternates(left, standby)
    ordered = sorted(left, key=lambda a: (tuple(-s for s in a.rounded), a.key))
    filled = {p: sum(1 for part in places.values() if part == p) for p in spots}
    return Selection(
        places=places,
        alternates={
            q.part: tuple(a.key for a in ordered if standby.get(a.key) == q.part) for q in quotas
        },
        places_of=_places_of(applicants, places),
        ties=tuple(ties),
        short={q.part: q.least - filled[q.part] for q in quotas if filled[q.part] < q.least},
    )


def admitted(applicants: Sequence[Applicant], spots: Mapping[int, int]) -> dict[int, int]:
    """Candidate -> part, by deferred acceptance; among equals whoever comes first, which
    ``select`` tells as a tie."""
    held: dict[int, list[tuple[Standing, int, int]]] = {part: [] for part in spots}
    asking = [(index, 0) for index in reversed(range(len(applicants)))]
    rounded = [a.rounded for a in applicants]
    while asking:
        index, wish = asking.pop()
        wishes = applicants[index].wishes
        if wish == len(wishes):
            continue
        part = wishes[wish]
        room = spots.get(part, 0)
        entry = (rounded[index], -index, wish)
        if room > len(held.get(part, ())):
            heappush(held[part], entry)
        elif room and held[part][0] < entry:
            _, beaten, at = heapreplace(held[part], entry)
            asking.append((-beaten, at + 1))
        else:
            asking.append((index, wish + 1))
    return {applicants[-i].key: part for part, rows in held.items() for _, i, _ in rows}


def _ties(
    applicants: Sequence[Applicant],
    places: Mapping[int, int],
    spots: Mapping[int, int],
    *,
    alternates: bool,
) -> list[Tie]:
    """Parts where somebody outside, who would rather be there, stands equal to somebody inside."""
    found = []
    for part in spots:
        inside = {a.key: a.rounded for a in applicants if places.get(a.key) == part}
        outside = {a.key: a.rounded for a in applicants if _would_rather(a, part, places)}
        for standing in sorted({*inside.values()} & {*outside.values()}, reverse=True):
            found.append(
                Tie(
                    part,
                    tuple(sorted(k for k, s in inside.items() if s == standing)),
                    tuple(sorted(k for k, s in outside.items() if s == standing)),
                    alternates,
                )
            )
    return found


def _equal_alternates(left: Sequence[Applicant], standby: Mapping[int, int]) -> list[Tie]:
    """Alternates of one part who stand equal: which of them is called first is not settled."""
    groups: dict[tuple[int, Standing], list[int]] = {}
    for a in left:
        if a.key in standby:
            groups.setdefault((standby[a.key], a.rounded), []).append(a.key)
    return [
        Tie(part, tuple(sorted(keys)), (), alternates=True)
        for (part, _), keys in sorted(groups.items(), reverse=True)
        if len(keys) > 1
    ]


def _would_rather(a: Applicant, part: int, places: Mapping[int, int]) -> bool:
    """They asked for the part and have none they put before it."""
    if part not in a.wishes:
        return False
    has = places.get(a.key)
    return has is None or a.wishes.index(part) < a.wishes.index(has)


def _places_of(
    applicants: Sequence[Applicant], places: Mapping[int, int]
) -> dict[tuple[int, int], int]:
    """Each candidate's place among those who have the part or would rather have it."""
    found: dict[tuple[int, int], int] = {}
    for part in {p for a in applicants for p in a.wishes}:
        competing = [
            a for a in applicants if places.get(a.key) == part or _would_rather(a, part, places)
        ]
        standings = sorted((a.rounded for a in competing), reverse=True)
        first = {s: i for i, s in reversed(list(enumerate(standings, start=1)))}
        found |= {(a.key, part): first[a.rounded] for a in competing}
    return found
