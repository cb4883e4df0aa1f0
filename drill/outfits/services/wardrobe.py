"""Who has what an event asks for, who lacks it, and which spare pieces would do."""

from __future__ import annotations

import datetime
from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

from bandops.lib.keys import key
from drill.events.models import Event, Segment
from drill.outfits import queries
from drill.outfits.models import Worn
from roster.equipment import queries as equipment
from roster.equipment.core.fitting import Fit, fit_of, nearest, who_fits
from roster.equipment.enums import ItemState
from roster.equipment.models import Issue, Item, Kind, Ticket
from roster.equipment.services.fitting import Built, People, build, fitting_as_they_are
from roster.equipment.wording import fit_words, misses_words, size_of
from roster.people.models import Member, Part


@dataclass(frozen=True)
class Missing:
    """A kind a member has no usable piece of; ``away`` is theirs that is at work until then or
    after the event."""

    member: Member
    kind: Kind
    away: Item | None = None


@dataclass(frozen=True)
class Wardrobe:
    """What is worn in the segments of an event, for members who may march."""

    event: Event
    segments: Sequence[Segment]
    members: Sequence[Member]
    parts: Sequence[Part]
    today: datetime.date

    @cached_property
    def worn(self) -> list[Worn]:
        return queries.worn_at(self.event, self.segments)

    @cached_property
    def kinds(self) -> dict[int, Kind]:
        """The kinds that are worn, with their figures."""
        wanted = {w.kind_id for w in self.worn}
        return {k.pk: k for k in equipment.kinds().filter(pk__in=wanted)} if wanted else {}

    @cached_property
    def asked(self) -> frozenset[tuple[int, int, int]]:
        """(segment, part, kind): whoever marches the part in the segment wears the kind."""
        found = set()
        for row in self.worn:
            instruments = {i.pk for i in row.instruments.all()}
            for segment in self.segments:
                if row.show_id is not None and row.show_id != segment.show_id:
                    continue
                found |= {
                    (segment.pk, part.pk, row.kind_id)
                    for part in self.parts
                    if not instruments or part.instrument_id in instruments
                }
        return frozenset(found)

    @cached_property
    def due(self) -> dict[int, datetime.date | None]:
        """Item -> when it is to be back from work."""
        rows = Ticket.objects.filter(closed_at__isnull=True, item__kind__in=self.kinds)
        return dict(rows.values_list("item", "due"))

    @cached_property
    def theirs(self) -> dict[tuple[int, int], list[Item]]:
        """(person, kind) -> their pieces of it."""
        found: dict[tuple[int, int], list[Item]] = defaultdict(list)
        rows = Issue.objects.filter(returned_at__isnull=True, item__kind__in=self.kinds)
        for issue in rows.select_related("item", "member"):
            found[issue.member.person_id, issue.item.kind_id].append(issue.item)
        return found

    def usable(self, item: Item) -> bool:
        """Whether it can be worn on the day."""
        return equipment.is_usable(item.state, self.due.get(item.pk), self.today, self.event.date)

    @cached_property
    def lacking(self) -> dict[int, list[Missing]]:
        """Member -> what they lack of all that a part they play asks of them anywhere."""
        if not self.worn:
            return {}
        excused = queries.excused(self.event)
        of_part: dict[int, set[int]] = defaultdict(set)
        for _, part, kind in self.asked:
            of_part[part].add(kind)
        found: dict[int, list[Missing]] = {}
        for member in self.members:
            skills = member.skills  # type: ignore[attr-defined]
            kinds = set[int]().union(*(of_part[s.part_id] for s in skills))
            lacks = [
                missing
                for kind in sorted(kinds, key=lambda k: (self.kinds[k].order, k))
                if (member.pk, kind) not in excused
                if (missing := self._missing(member, kind)) is not None
            ]
            if lacks:
                found[member.pk] = lacks
        return found

    def _missing(self, member: Member, kind: int) -> Missing | None:
        items = self.theirs.get((member.person_id, kind), [])
        if any(self.usable(item) for item in items):
            return None
        return Missing(member, self.kinds[kind], next(iter(items), None))

    @cached_property
    def built(self) -> dict[int, Built]:
        """Kind -> who lacks it, and the pieces in store that can be worn on the day."""
        lackers = [m for m in self.members if m.pk in self.lacking]
        people = People(lackers)
        found = {}
        for kind in {m.kind.pk for rows in self.lacking.values() for m in rows}:
            wanted = [m for m in lackers if any(x.kind.pk == kind for x in self.lacking[m.pk])]
            found[kind] = build(
                self.kinds[kind], people, wanted, items=self._spares[kind], every=True
            )
        return found

    @cached_property
    def _spares(self) -> dict[int, list[Item]]:
        """Kind -> nobody's pieces that can be worn on the day."""
        out = {item.pk for items in self.theirs.values() for item in items}
        rows = equipment.sized_items().filter(kind__in=self.kinds, part_of__isnull=True)
        found: dict[int, list[Item]] = defaultdict(list)
        for item in rows.exclude(state__in=(ItemState.MISSING, ItemState.RETIRED)):
            if item.pk not in out and self.usable(item):
                found[item.kind_id].append(item)
        return found

    def fitting(self, member: Member, kind: int) -> list[tuple[Item, Fit]]:
        """Spare pieces that fit as they are, the closest first: nothing is altered on the day."""
        return fitting_as_they_are(self.built[kind], member)

    @cached_property
    def classes(self) -> dict[tuple[int, str], list[Item]]:
        """(kind, name) -> spare pieces that fit the same members, as one size."""
        found: dict[tuple[int, str], list[Item]] = {}
        for kind, who in self._who_fits.items():
            by: dict[frozenset[int], list[Item]] = defaultdict(list)
            for item, members in who.items():
                if members:
                    by[frozenset(members)].append(self.built[kind].items[item])
            for items in by.values():
                first = min(items, key=lambda i: i.pk)
                found[kind, key(first.pk)] = sorted(items, key=lambda i: i.pk)
        return found

    @cached_property
    def _who_fits(self) -> dict[int, dict[str, list[int]]]:
        """Kind -> spare piece -> members whom it fits."""
        found: dict[int, dict[str, list[int]]] = {}
        for kind, built in self.built.items():
            found[kind] = {k: [] for k in built.items}
            for member, pieces in who_fits(built.problem.unaltered).items():
                for piece in pieces:
                    found[kind][piece].append(built.members[member].pk)
        return found

    def dress(self) -> Dress:
        """What a lineup heeds of it."""
        lacks = {
            pk: tuple((m.kind.pk, self.fits(pk, m.kind.pk)) for m in rows)
            for pk, rows in self.lacking.items()
        }
        spares = tuple((kind, size, len(items)) for (kind, size), items in self.classes.items())
        return Dress(self.asked, lacks, spares)

    def fits(self, member: int, kind: int) -> tuple[str, ...]:
        """Names of the sizes of spare pieces that a member could wear."""
        who = self._who_fits[kind]
        sizes = {name for (k, name) in self.classes if k == kind}
        return tuple(sorted(name for name in sizes if member in who[name]))


@dataclass(frozen=True)
class Dress:
    """What a lineup heeds of a wardrobe: (segment, part, kind) that are asked; member -> (kind,
    sizes that fit) they lack; (kind, size, how many) in store."""

    asked: frozenset[tuple[int, int, int]]
    lacks: dict[int, tuple[tuple[int, tuple[str, ...]], ...]]
    spares: tuple[tuple[int, str, int], ...]


def wardrobe_of(
    event: Event, segments: Sequence[Segment], members: Sequence[Member], parts: Sequence[Part]
) -> Wardrobe:
    """The wardrobe of an event, as of today by the season's clock."""
    return Wardrobe(event, segments, members, parts, event.season.today())


def missing_words(missing: Missing) -> str:
    """'no trousers', 'no trousers (T-31 is at cleaning)'."""
    kind = missing.kind.name.lower()
    if missing.away is None:
        return f"no {kind}"
    return f"no {kind} ({missing.away} is {missing.away.get_state_display()})"


def nearest_words(built: Built, member: Member) -> str:
    """The spare piece nearest to fitting: 'with an alteration: J-12 (…), let out chest 1/2 in', or
    the one that misses least: 'J-12 (chest 40 in): chest 2 in too small'."""
    wearer = built.problem.of_wearer[key(member.pk)]
    unmeasured = [f for k, f in built.figures.items() if k not in wearer.windows]
    if unmeasured:
        return "not measured: " + ", ".join(f.get_measure_display() for f in unmeasured)
    fits = ((fit_of(built.problem, wearer, p), p.key) for p in built.problem.pieces)
    altered = [(fit.cost, fit.off, piece, fit) for fit, piece in fits if fit is not None]
    if altered:
        _, _, piece, fit = min(altered, key=lambda row: row[:3])
        item = built.items[piece]
        words = fit_words(fit, built.figures)
        return f"with an alteration: {item} ({size_of(item)}), {words}"
    found = nearest(built.problem, wearer, built.problem.pieces)
    if found is None:
        return ""
    item = built.items[found.piece]
    misses = misses_words(found.misses, built.figures)
    return f"{item} ({size_of(item)}): {misses}" if misses else f"{item} ({size_of(item)})"
