"""The travel list of an event: what it means to leave somebody at home, and whom to take.

Everything is told segment by segment, because a member may march in one and be a backup in another.
"""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass

from drill.backups.core.hole_chance import hole_chance
from drill.lineup.core.level_values import is_own_alternate
from drill.lineup.core.problem import LineupProblem, Member, Placement
from drill.lineup.core.rules import Facts, block_applies
from drill.travel.core.trips import NOTHING, Able, Leg, Marcher, Sort, Trip

__all__ = ["fill", "first_reserve", "hole_chance", "trip"]
LATER = 1 << 20


def trip(
    problem: LineupProblem,
    placements: Iterable[Placement],
    out: Mapping[tuple[str, str], float],
) -> Trip:
    """The trip of a lineup. ``out`` gives (member, segment) -> the chance of being out.

    A performing spot is one that somebody marches; holes and spots left open are none.
    """
    facts = Facts(problem)
    placed: dict[str, dict[str, str]] = defaultdict(dict)
    for p in placements:
        if p.member is not None:
            placed[p.segment][p.member] = p.spot
    legs = []
    for segment in problem.segments:
        here = placed[segment.key]
        marchers = tuple(
            Marcher(m, facts.spots[s].part, out[m, segment.key]) for m, s in sorted(here.items())
        )
        performed = {facts.spots[s].part: False for s in here.values()}
        for s in here.values():
            performed[facts.spots[s].part] |= not facts.spots[s].needs_experience
        able = (
            Able(m.key, _can_march(facts, m, segment.key, performed), out[m.key, segment.key])
            for m in problem.members
            if m.key not in here and segment.key not in m.away
        )
        parts = tuple(p.key for p in problem.parts if p.key in performed)
        legs.append(Leg(segment.key, parts, marchers, tuple(a for a in able if a.parts)))
    return Trip(tuple(legs))


def _can_march(
    facts: Facts, member: Member, segment: str, performed: Mapping[str, bool]
) -> frozenset[str]:
    """The parts a member can march; ``performed`` says of each whether some spot of it takes
    anybody. Blocks from single spots are not looked at."""
    if any(
        b.spot is None and block_applies(b, segment, "") for b in facts.blocks.get(member.key, ())
    ):
        return frozenset()
    parts = {skill.part for skill in member.skills} & performed.keys()
    return frozenset(p for p in parts if performed[p] or member.experienced)


def fill(
    problem: LineupProblem, it: Trip, along: frozenset[str], room: int | None
) -> tuple[str, ...]:
    """Backups to take besides, in the order chosen; ``room`` None for all who could
    march.

    Greedy: one at a time, whoever lowers the mean number of open spots most; among equals first
    backups before second ones, then alternates by standing. The best set is not promised.
    """
    waiting = set(it.able - along)
    order = _readiness(problem)
    if room is None or room >= len(waiting):
        return tuple(sorted(waiting, key=lambda m: order[m]))
    chosen: list[str] = []
    hopes: dict[Sort, float] = {}
    while len(chosen) < room:
        best = _most_helpful(it, along, waiting, hopes)
        if not best:
            break
        chosen.append(min(best, key=order.__getitem__))
        along |= {chosen[-1]}
        waiting.remove(chosen[-1])
    return tuple(chosen)


Readiness = tuple[int, int, str]


def _most_helpful(
    it: Trip, along: frozenset[str], waiting: Collection[str], hopes: dict[Sort, float]
) -> list[str]:
    """Those who lower the mean number of open spots most; nobody when nobody helps.

    ``hopes`` keeps what each sort helped when last asked. With more people along nobody helps
    more than before (a matching grows by less and less), so most need not be asked again.
    """
    sorts: dict[Sort, list[str]] = defaultdict(list)
    for member in sorted(waiting):
        sorts[it.sort_of(member)].append(member)
    before, most = it.open_spots(along), NOTHING
    gains: dict[Sort, float] = {}
    for sort in sorted(sorts, key=lambda s: (-hopes.get(s, math.inf), sorts[s])):
        if hopes.get(sort, math.inf) < most:
            break
        gains[sort] = hopes[sort] = round(before - it.open_spots(along | {sorts[sort][0]}), 9)
        most = max(most, gains[sort])
    return [m for sort, gain in gains.items() if gain == most > NOTHING for m in sorts[sort]]


def _gains(it: Trip, along: frozenset[str], members: Iterable[str]) -> dict[str, float]:
    """Member -> how many open spots fewer are to be expected with them."""
    before = it.open_spots(along)
    by_sort: dict[Sort, float] = {}
    found = {}
    for member in sorted(members):
        sort = it.sort_of(member)
        if sort not in by_sort:
            by_sort[sort] = before - it.open_spots(along | {member})
        found[member] = by_sort[sort]
    return found


def _readiness(problem: LineupProblem) -> dict[str, Readiness]:
    """Member -> best backup order, standing, key."""
    first: dict[str, int] = {}
    for backup in problem.backups:
        first[backup.member] = min(backup.order, first.get(backup.member, LATER))
    return {m.key: (first.get(m.key, LATER), m.standing or LATER, m.key) for m in problem.members}


@dataclass(frozen=True, slots=True)
class Reserve:
    """Who goes if somebody of a part drops out: by backup order, own standing, or most help."""

    member: str
    backup: int | None = None
    standing: int | None = None


def first_reserve(
    problem: LineupProblem,
    it: Trip,
    placements: Iterable[Placement],
    along: frozenset[str],
    part: str,
) -> Reserve | None:
    """The best member left at home who can march the part: named backups of its performing spots
    in their order, then alternates of their pools by standing, then whoever helps most."""
    spots = {s.key: s for s in problem.spots if s.part == part}
    performed = {p.spot for p in placements if p.member is not None} & spots.keys()
    pool = problem.settings.pool
    could = {
        a.member for leg in it.legs for a in leg.able if part in a.parts and a.member not in along
    }
    if not could:
        return None
    members = {m.key: m for m in problem.members}
    named: dict[str, int] = {}
    for backup in problem.backups:
        if backup.spot in performed and backup.member in could:
            named[backup.member] = min(backup.order, named.get(backup.member, LATER))
    own = {
        k: members[k].standing or LATER
        for k in could
        if any(is_own_alternate(members[k], spots[s], pool) for s in performed)
    }
    gains = _gains(it, along, could)

    def place(member: str) -> tuple[int, int, float, str]:
        backup, standing = named.get(member, LATER), own.get(member, LATER)
        return backup, standing, -round(gains[member], 9), member

    best = min(could, key=place)
    return Reserve(best, named.get(best), own.get(best))


def spots_of(placements: Iterable[Placement]) -> dict[str, dict[str, list[str]]]:
    """Member -> spot -> the segments in which they march it."""
    found: dict[str, dict[str, list[str]]] = defaultdict(lambda: defaultdict(list))
    for p in placements:
        if p.member is not None:
            found[p.member][p.spot].append(p.segment)
    return {member: dict(spots) for member, spots in found.items()}
