"""Who travels to an event and what each choice of travellers can fill."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass
from functools import cached_property

from drill.backups.core.hole_chance import Figure, Group, Helper, Need, figure, grouped

CERTAIN = 1.0
NOTHING = 1e-9
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
