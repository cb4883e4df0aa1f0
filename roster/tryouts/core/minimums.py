"""Selection where deferred acceptance leaves a part short of its minimum: doublers are moved.

As few as can be, each along the shortest way: whoever stands lowest among those who asked for the
part and have another one is moved to it, and the rules fill what they leave. A part is left short
only where nobody who could be moved is left. Everybody whose place is another by it is told as a
trade, and equals among whom the lowest would have to be chosen as a tie.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from roster.tryouts.core.selection import (
    Applicant,
    Quota,
    Selection,
    Tie,
    Trade,
    admitted,
    select,
    told,
)


def select_with_minimums(applicants: Sequence[Applicant], quotas: Sequence[Quota]) -> Selection:
    """``select``, and where a minimum lacks and somebody can be moved, with the trades for it."""
    plain = select(applicants, quotas)
    if not plain.short:
        return plain
    people = {a.key: a for a in applicants}
    spots = {q.part: q.room for q in quotas}
    places: Mapping[int, int] = plain.places
    short: Mapping[int, int] = plain.short
    ties: list[Tie] = []
    while (way := _way(people, places, quotas, short)) is not None:
        for step in way:
            ties += step.ties
            people[step.key] = _only_from(people[step.key], step.to)
        places = admitted(list(people.values()), spots)
        short = told(list(people.values()), quotas, places).short or {}
    trades = tuple(
        Trade(a.key, plain.places.get(a.key), places.get(a.key))
        for a in applicants
        if plain.places.get(a.key) != places.get(a.key)
    )
    moved = {trade.key for trade in trades}
    found = told([people[a.key] if a.key in moved else a for a in applicants], quotas, places)
    return replace(found, trades=trades, ties=(*found.ties, *ties))


@dataclass(frozen=True, slots=True)
class _Step:
    """One candidate who is moved, and the equals of whom one had to be chosen."""

    key: int
    to: int
    ties: tuple[Tie, ...]


def _only_from(applicant: Applicant, part: int) -> Applicant:
    """The same without the wishes before a part."""
    return replace(applicant, wishes=applicant.wishes[applicant.wishes.index(part) :])


def _way(
    people: Mapping[int, Applicant],
    places: Mapping[int, int],
    quotas: Sequence[Quota],
    short: Mapping[int, int],
) -> list[_Step] | None:
    """The shortest row of moves by which a part that is short gets one more and no part falls
    below its minimum; None where there is none."""
    for part in sorted(short):
        came: dict[int, _Step] = {}
        ahead, seen = deque([part]), {part}
        while ahead:
            to = ahead.popleft()
            for step, left in _moves(people, places, to):
                if left in seen:
                    continue
                seen.add(left)
                came[left] = step
                if _can_spare(people, places, quotas, left, step.key):
                    return _back(came, left)
                ahead.append(left)
    return None


def _back(came: Mapping[int, _Step], last: int) -> list[_Step]:
    steps, at = [], last
    while at in came:
        steps.append(came[at])
        at = came[at].to
    return steps


def _moves(
    people: Mapping[int, Applicant], places: Mapping[int, int], to: int
) -> list[tuple[_Step, int]]:
    """For each other part the lowest who has it and asked for ``to`` after it."""
    by_part: dict[int, list[Applicant]] = {}
    for key, part in places.items():
        wishes = people[key].wishes
        if to in wishes and wishes.index(to) > wishes.index(part):
            by_part.setdefault(part, []).append(people[key])
    found = []
    for part in sorted(by_part):
        lowest = min(a.rounded for a in by_part[part])
        equals = sorted(a.key for a in by_part[part] if a.rounded == lowest)
        tie = (Tie(to, (equals[0],), tuple(equals[1:]), alternates=False),)
        found.append((_Step(equals[0], to, tie if len(equals) > 1 else ()), part))
    return found


def _can_spare(
    people: Mapping[int, Applicant],
    places: Mapping[int, int],
    quotas: Sequence[Quota],
    part: int,
    key: int,
) -> bool:
    """The part keeps its minimum without somebody: it has more, or the rules fill the spot."""
    quota = next(q for q in quotas if q.part == part)
    has = sum(p == part for p in places.values())
    waits = any(part in a.wishes for a in people.values() if a.key not in places)
    return has > quota.least or waits
