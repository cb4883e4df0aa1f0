"""The travel list of an event: what it means to leave somebody at home, and whom to take.

Everything is told segment by segment, because a member may march in one and cover in another.
"""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass
from functools import cached_property

from drill.backups.core.hole_chance import Figure, Group, Helper, Need, figure, grouped, hole_chance
from drill.lineup.core.problem import LineupProblem, Member, Placement
from drill.lineup.core.rules import Facts, bar_applies

__all__ = ["BASE_CHANCE", "Trip", "fill", "first_reserve", "hole_chance", "trip"]

BASE_CHANCE = 0.05
"""that somebody nobody speaks of is out: common practice, no source"""
CERTAIN = 1.0
NOTHING = 1e-9
LATER = 1 << 20
Sort = tuple[object, ...]
"""what a member means to every list: equal for members who change the chances alike"""


@dataclass(frozen=True, slots=True)
class Marcher:
    """Who marches a performing spot of a part."""

    member: str
    part: str
    out: float


@dataclass(frozen=True, slots=True)
class Able:
    """Somebody who does not march in the segment and could stand in."""

    member: str
    parts: frozenset[str]
    out: float


@dataclass(frozen=True, slots=True)
class Outlook:
    """A segment's chances with those who come along."""

    hole: Mapping[str, float]
    any_hole: float
    open_spots: float
    half_width: float
    rough: bool


@dataclass(frozen=True, slots=True)
class Change:
    """What one member more or less does to a part's chance of a hole, where it matters most."""

    segment: str
    part: str
    without: float
    along: float


@dataclass(frozen=True)
class Leg:
    """One segment: its performing spots and who could stand in. ``parts`` in the band's order."""

    segment: str
    parts: tuple[str, ...]
    marchers: tuple[Marcher, ...]
    able: tuple[Able, ...]

    @cached_property
    def marching(self) -> Mapping[str, Marcher]:
        return {m.member: m for m in self.marchers}

    @cached_property
    def standing_by(self) -> Mapping[str, Able]:
        return {a.member: a for a in self.able}

    def groups(self, along: Collection[str]) -> tuple[Group, ...]:
        """Needs and helpers when these members come along."""
        out: dict[str, list[float]] = {part: [] for part in self.parts}
        for m in self.marchers:
            out[m.part].append(m.out if m.member in along else CERTAIN)
        needs = [Need(part, tuple(chances)) for part, chances in out.items()]
        return grouped(needs, (Helper(a.parts, a.out) for a in self.able if a.member in along))

    def outlook(self, along: Collection[str]) -> Outlook:
        """The chances when these members come along."""
        groups = self.groups(along)
        figures = [figure(g) for g in groups]
        safe = 1.0
        for f in figures:
            safe *= 1.0 - f.any_hole
        return Outlook(
            {n.part: h for g, f in zip(groups, figures, strict=True) for n, h in _holes(g, f)},
            1.0 - safe,
            sum(f.open_spots for f in figures),
            max((f.half_width for f in figures), default=0.0),
            any(f.rough for f in figures),
        )

    def sort_of(self, member: str) -> Sort | None:
        """The member's sort in this segment; None when they change nothing here."""
        if member in self.marching:
            m = self.marching[member]
            return ("marches", m.part, m.out)
        able = self.standing_by.get(member)
        return ("stands by", able.parts, able.out) if able else None


def _holes(group: Group, made: Figure) -> Iterable[tuple[Need, float]]:
    return zip(group.needs, made.hole, strict=True)


@dataclass(frozen=True)
class Trip:
    """An event's segments as the travel list sees them."""

    legs: tuple[Leg, ...]

    @cached_property
    def marchers(self) -> frozenset[str]:
        """Everybody who marches in some segment."""
        return frozenset(m.member for leg in self.legs for m in leg.marchers)

    @cached_property
    def able(self) -> frozenset[str]:
        """Everybody who could stand in somewhere."""
        return frozenset(a.member for leg in self.legs for a in leg.able)

    def open_spots(self, along: Collection[str]) -> float:
        """The mean number of open spots, all segments together."""
        return sum(leg.outlook(along).open_spots for leg in self.legs)

    def sort_of(self, member: str) -> Sort:
        """The member's sort in all segments."""
        return tuple(leg.sort_of(member) for leg in self.legs)

    def weakening(self, along: frozenset[str]) -> dict[str, Change]:
        """Member who comes along -> the chance of a hole that grows most without them."""
        return self._changes(along, {who: along - {who} for who in along})

    def strengthening(self, along: frozenset[str]) -> dict[str, Change]:
        """Member who stays at home -> the chance of a hole that shrinks most with them."""
        at_home = (self.marchers | self.able) - along
        return self._changes(along, {who: along | {who} for who in at_home})

    def _changes(
        self, along: frozenset[str], otherwise: Mapping[str, frozenset[str]]
    ) -> dict[str, Change]:
        now = [leg.outlook(along) for leg in self.legs]
        known: dict[Sort, Change | None] = {}
        for member in sorted(otherwise):
            sort = self.sort_of(member)
            if sort not in known:
                known[sort] = self._change(member, now, otherwise[member])
        found = {member: known[self.sort_of(member)] for member in sorted(otherwise)}
        return {member: change for member, change in found.items() if change is not None}

    def _change(self, member: str, now: list[Outlook], other: frozenset[str]) -> Change | None:
        changes = []
        for leg, here in zip(self.legs, now, strict=True):
            if leg.sort_of(member) is None:
                continue
            there = leg.outlook(other).hole
            for part in leg.parts:
                low, high = sorted((here.hole[part], there[part]))
                changes.append(Change(leg.segment, part, high, low))
        most = max(changes, key=lambda c: c.without - c.along, default=None)
        return most if most and most.without - most.along > NOTHING else None


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
    anybody. Bars from single spots are not looked at."""
    if any(b.spot is None and bar_applies(b, segment, "") for b in facts.bars.get(member.key, ())):
        return frozenset()
    parts = {skill.part for skill in member.skills} & performed.keys()
    return frozenset(p for p in parts if performed[p] or member.experienced)


def fill(
    problem: LineupProblem, it: Trip, along: frozenset[str], room: int | None
) -> tuple[str, ...]:
    """Covers to take besides, in the order chosen; ``room`` None for all who could
    march.

    Greedy: one at a time, whoever lowers the mean number of open spots most; among equals first
    covers before second ones, then alternates by standing. The best set is not promised.
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
    """Member -> best cover order, standing, key."""
    first: dict[str, int] = {}
    for cover in problem.covers:
        first[cover.member] = min(cover.order, first.get(cover.member, LATER))
    return {m.key: (first.get(m.key, LATER), m.standing or LATER, m.key) for m in problem.members}


@dataclass(frozen=True, slots=True)
class Reserve:
    """Who goes if somebody of a part drops out: by cover order, own standing, or most help."""

    member: str
    cover: int | None = None
    standing: int | None = None


def first_reserve(
    problem: LineupProblem,
    it: Trip,
    placements: Iterable[Placement],
    along: frozenset[str],
    part: str,
) -> Reserve | None:
    """The best member left at home who can march the part: named covers of its performing spots
    in their order, then alternates of their ranks by standing, then whoever helps most."""
    spots = {s.key: s for s in problem.spots if s.part == part}
    performed = {p.spot for p in placements if p.member is not None} & spots.keys()
    ranks = {spots[s].rank for s in performed}
    could = {
        a.member for leg in it.legs for a in leg.able if part in a.parts and a.member not in along
    }
    if not could:
        return None
    members = {m.key: m for m in problem.members}
    named: dict[str, int] = {}
    for cover in problem.covers:
        if cover.spot in performed and cover.member in could:
            named[cover.member] = min(cover.order, named.get(cover.member, LATER))
    own = {
        k: m.standing
        for k in could
        if (m := members[k]).standing and m.standing_part == part and m.rank in ranks
    }
    gains = _gains(it, along, could)

    def place(member: str) -> tuple[int, int, float, str]:
        cover, standing = named.get(member, LATER), own.get(member, LATER)
        return cover, standing, -round(gains[member], 9), member

    best = min(could, key=place)
    return Reserve(best, named.get(best), own.get(best))


def spots_of(placements: Iterable[Placement]) -> dict[str, dict[str, list[str]]]:
    """Member -> spot -> the segments in which they march it."""
    found: dict[str, dict[str, list[str]]] = defaultdict(lambda: defaultdict(list))
    for p in placements:
        if p.member is not None:
            found[p.member][p.spot].append(p.segment)
    return {member: dict(spots) for member, spots in found.items()}
