"""Whether who steps in is dressed: nobody is confirmed without what the event asks for."""

from __future__ import annotations

import uuid
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from functools import cached_property

from bandops.lib.errors import Refused
from bandops.lib.keys import key
from drill.gameday.services.desk import Desk
from drill.lineup.core.problem import Seat
from drill.lineup.core.rules import WhyNot
from drill.outfits.services.wardrobe import (
    Missing,
    Wardrobe,
    missing_words,
    nearest_words,
    wardrobe_of,
)
from roster.equipment.models import Item
from roster.equipment.wording import size_of
from roster.people import queries as people_queries
from roster.people.models import Member

OFFERED = 3


@dataclass(frozen=True)
class Lack:
    """What somebody lacks, and the spare pieces nearest to it: those that fit, else in words the
    one that misses least."""

    missing: Missing
    spares: tuple[tuple[Item, str], ...]
    nearest: str
    key: uuid.UUID = field(default_factory=uuid.uuid4)
    """of the page's button that hands the first spare out"""

    @property
    def words(self) -> str:
        return missing_words(self.missing)


@dataclass(frozen=True)
class Dressing:
    """Who of an event's members lacks what they would wear."""

    desk: Desk

    @cached_property
    def is_asked(self) -> bool:
        """Whether the event asks for anything."""
        return bool(self.desk.built.problem.wears)

    @cached_property
    def _wardrobe(self) -> Wardrobe:
        built = self.desk.built
        segments = [s for s in built.segments.values() if s.marches]
        parts = list(people_queries.parts(built.event.season))
        return wardrobe_of(built.event, segments, list(built.members.values()), parts)

    def lacks(self, member: str, seats: Iterable[Seat]) -> list[Lack]:
        """What the member lacks in the seats."""
        if not self.is_asked:
            return []
        facts = self.desk.field.facts
        of = facts.members[member]
        kinds = {
            lack.kind
            for segment, spot in seats
            for lack in facts.lacking(of, segment, facts.spots[spot])
        }
        missing = self._wardrobe.lacking.get(int(member), [])
        return [self._lack(m) for m in missing if key(m.kind.pk) in kinds]

    def _lack(self, missing: Missing) -> Lack:
        found = self._wardrobe.fitting(missing.member, missing.kind.pk)[:OFFERED]
        spares = tuple((item, size_of(item)) for item, _ in found)
        built = self._wardrobe.built[missing.kind.pk]
        nearest = "" if spares else nearest_words(built, missing.member)
        return Lack(missing, spares, nearest)

    def undressed(
        self, seats: tuple[Seat, ...], out: str | None
    ) -> list[tuple[Member, list[Lack]]]:
        """Who could take all the seats but that no spare piece fits them."""
        if not self.is_asked:
            return []
        here = self.desk.field
        found = []
        for member in here.players(seats):
            taken = any((g, member.key) in here.stands for g, _ in seats)
            if member.key == out or taken:
                continue
            why = [set(here.facts.why_not(member, g, here.facts.spots[s])) for g, s in seats]
            if all(w <= {WhyNot.NOT_DRESSED} for w in why) and any(why):
                found.append(member)
        spots = {spot for _, spot in seats}
        order = {b.member: b.order for b in here.problem.backups if b.spot in spots}
        found.sort(key=lambda m: (order.get(m.key, 99), m.standing or 99, m.key))
        members = self.desk.built.members
        return [(members[m.key], self.lacks(m.key, seats)) for m in found]


def refuse_undressed(desk: Desk, after: Mapping[Seat, str | None]) -> None:
    """Whoever steps in now, and stood nowhere before, has to have what they wear."""
    dressing = Dressing(desk)
    if not dressing.is_asked:
        return
    stood = {member for member in desk.field.seats.values() if member}
    new: dict[str, list[Seat]] = {}
    for seat, member in after.items():
        if member is not None and member not in stood:
            new.setdefault(member, []).append(seat)
    for member, seats in new.items():
        lacks = dressing.lacks(member, seats)
        if lacks:
            name = desk.built.members[member].name
            raise Refused(f"{name} is not dressed.", tuple(_said(lack) for lack in lacks))


def _said(lack: Lack) -> str:
    if lack.spares:
        near = ", ".join(f"{item} ({size})" if size else str(item) for item, size in lack.spares)
        return f"{lack.words}. Hand out first: {near}."
    near = f"; nearest: {lack.nearest}" if lack.nearest else ""
    return f"{lack.words}. No spare piece fits{near}."
