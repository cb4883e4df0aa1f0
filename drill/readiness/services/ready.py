"""Who marches without what an event asks for, and which pieces of the store would dress them."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property

from bandops.lib.keys import key
from drill.events.models import Event
from drill.lineup import queries as lineup_queries
from drill.lineup.models import Lineup
from drill.lineup.services.rows import Rows
from drill.outfits.services.wardrobe import Missing, Wardrobe, missing_words, nearest_words
from roster.equipment import queries as equipment
from roster.equipment.core.fitting import fit_all
from roster.equipment.enums import AT_HAND, Use
from roster.equipment.models import Issue, Item, Kind
from roster.equipment.services.fitting import in_store
from roster.equipment.wording import size_of
from roster.people.models import Member
from roster.ranks.models import Rank, Spot


@dataclass(frozen=True)
class Need:
    """What somebody lacks, and the piece of the store that would do; where there is none, in words
    the nearest. ``taken_from`` has it now and does not march."""

    kind: Kind
    words: str
    item: Item | None = None
    nearest: str = ""
    taken_from: Member | None = None

    @property
    def size(self) -> str:
        return size_of(self.item) if self.item is not None else ""


@dataclass(frozen=True)
class Row:
    """A member with where they march, or stand by for, and what they lack."""

    member: Member
    rank: Rank | None
    spots: str
    needs: tuple[Need, ...]
    marches: bool = True

    @property
    def is_dressable(self) -> bool:
        return all(need.item is not None for need in self.needs)


@dataclass(frozen=True)
class Ready:
    """An event's newest lineup, dressed as far as the store goes."""

    event: Event

    @cached_property
    def rows_of(self) -> Rows:
        return Rows(self.event)

    @cached_property
    def lineup(self) -> Lineup | None:
        """The newest revision, else the draft."""
        return lineup_queries.published(self.event) or lineup_queries.draft(self.event)

    @cached_property
    def wardrobe(self) -> Wardrobe:
        return self.rows_of.wardrobe

    @cached_property
    def marching(self) -> dict[int, list[tuple[int, Spot]]]:
        """Member -> (segment, spot) they march."""
        found: dict[int, list[tuple[int, Spot]]] = defaultdict(list)
        if self.lineup is not None:
            rows = lineup_queries.rows(self.lineup).filter(member__isnull=False)
            for row in rows:
                found[row.member_id or 0].append((row.segment_id, row.spot))
        return found

    @cached_property
    def members(self) -> dict[int, Member]:
        return {m.pk: m for m in self.rows_of.members}

    @cached_property
    def rows(self) -> list[Row]:
        """Who marches and lacks something, rank by rank."""
        found: list[Row] = []
        dealt = self._dealt
        for pk, seats in self.marching.items():
            if pk not in self.members:
                continue
            needs = (*self._needs(pk, dealt), *self._instrument(pk))
            if needs:
                rank, spots = seats[0][1].rank, _labels(spot for _, spot in seats)
                found.append(Row(self.members[pk], rank, spots, needs))
        return sorted(found, key=_place)

    def _missing(self, pk: int) -> list[Missing]:
        """What they lack where they march."""
        asked = {
            kind
            for segment, spot in self.marching[pk]
            for g, part, kind in self.wardrobe.asked
            if g == segment and part == spot.part_id
        }
        return [m for m in self.wardrobe.lacking.get(pk, ()) if m.kind.pk in asked]

    def _needs(self, pk: int, dealt: Mapping[tuple[int, int], Item]) -> list[Need]:
        return [
            Need(
                m.kind,
                missing_words(m),
                item := dealt.get((pk, m.kind.pk)),
                "" if item else nearest_words(self.wardrobe.built[m.kind.pk], m.member),
            )
            for m in self._missing(pk)
        ]

    @cached_property
    def _dealt(self) -> dict[tuple[int, int], Item]:
        """(member, kind) -> the spare piece that dresses them: as many as can be, by the fitting's
        own order, nothing altered."""
        wanting: dict[int, set[str]] = defaultdict(set)
        for pk in self.marching:
            for missing in self._missing(pk) if pk in self.members else ():
                wanting[missing.kind.pk].add(key(pk))
        found: dict[tuple[int, int], Item] = {}
        if not self.wardrobe.built:
            return found
        for kind, who in wanting.items():
            built = self.wardrobe.built[kind]
            problem = replace(
                built.problem.unaltered,
                wearers=tuple(w for w in built.problem.wearers if w.key in who),
            )
            for given in fit_all(problem).given:
                found[int(given.wearer), kind] = built.items[given.piece]
        return found

    def _instrument(self, pk: int) -> list[Need]:
        need = self._instruments.get(pk)
        return [need] if need is not None else []

    @cached_property
    def _instruments(self) -> dict[int, Need]:
        """Member -> the school's instrument they have to be given."""
        found: dict[int, Need] = {}
        for kind in self.instrument_kinds:
            wanted = {i.pk for i in kind.instruments.all()}
            players = [pk for pk in self.marching if self.plays(pk, wanted, own=False)]
            has = {i.member.person_id: i for i in self._out(kind)}
            without = [pk for pk in players if self.members[pk].person_id not in has]
            if not without:
                continue
            marching = {self.members[pk].person_id for pk in players}
            free: list[tuple[Item, Member | None]] = [(i, None) for i in in_store(kind)]
            idle = [i for p, i in has.items() if p not in marching and i.item.state in AT_HAND]
            free += [(i.item, i.member) for i in idle]
            for n, pk in enumerate(without):
                item, owner = free[n] if n < len(free) else (None, None)
                found[pk] = Need(kind, f"no {kind.name.lower()}", item, "", owner)
        return found

    def plays(self, pk: int, instruments: set[int], *, own: bool) -> bool:
        """Whether they march one of the instruments, on their ``own`` or one of the school's."""
        member = self.members.get(pk)
        if member is None:
            return False
        parts = {spot.part_id for _, spot in self.marching[pk]}
        skills = member.skills  # type: ignore[attr-defined]
        return any(
            s.part_id in parts and s.part.instrument_id in instruments and s.own_instrument == own
            for s in skills
        )

    @cached_property
    def instrument_kinds(self) -> list[Kind]:
        """Kinds of instruments whose items are counted."""
        return [
            k
            for k in equipment.kinds().filter(use=Use.INSTRUMENT, items__isnull=False).distinct()
            if k.instruments.all()
        ]

    def _out(self, kind: Kind) -> list[Issue]:
        return list(equipment.open_issues().filter(item__kind=kind, item__part_of__isnull=True))

    @cached_property
    def backups(self) -> list[Row]:
        """Named backups who do not march, and lack what they would wear."""
        named: dict[int, list[Spot]] = defaultdict(list)
        rows = lineup_queries.backups(self.event.season).select_related("spot__rank")
        for backup in rows.order_by("order"):
            if backup.member_id in self.members and backup.member_id not in self.marching:
                named[backup.member_id].append(backup.spot)
        found = []
        for pk, spots in named.items():
            parts = {spot.part_id for spot in spots}
            asked = {kind for _, part, kind in self.wardrobe.asked if part in parts}
            missing = [m for m in self.wardrobe.lacking.get(pk, ()) if m.kind.pk in asked]
            needs = tuple(self._offer(m) for m in missing)
            if needs:
                row = Row(self.members[pk], spots[0].rank, _labels(spots), needs, marches=False)
                found.append(row)
        return sorted(found, key=_place)

    def _offer(self, missing: Missing) -> Need:
        """The closest spare piece that those who march leave."""
        dealt = {item.pk for item in self._dealt.values()}
        fits = self.wardrobe.fitting(missing.member, missing.kind.pk)
        item = next((i for i, _ in fits if i.pk not in dealt), None)
        built = self.wardrobe.built[missing.kind.pk]
        near = "" if item else nearest_words(built, missing.member)
        return Need(missing.kind, missing_words(missing), item, near)

    @property
    def to_bring(self) -> list[tuple[Rank | None, list[tuple[Row, Need]]]]:
        """What to bring from the store, rank by rank."""
        by_rank: dict[Rank | None, list[tuple[Row, Need]]] = {}
        for row in self.rows:
            for need in row.needs:
                if need.item is not None:
                    by_rank.setdefault(row.rank, []).append((row, need))
        return list(by_rank.items())


def ready_for(event: Event) -> Ready:
    """An event as it stands now."""
    return Ready(event)


def _labels(spots: Iterable[Spot]) -> str:
    return ", ".join(dict.fromkeys(str(spot) for spot in spots))


def _place(row: Row) -> tuple[object, ...]:
    rank = row.rank
    return (rank.order if rank else 10_000, rank.pk if rank else 0, row.member.person.sort_key)


def in_ranks(rows: Sequence[Row], ranks: Iterable[int]) -> list[Row]:
    """Those of some ranks."""
    wanted = set(ranks)
    return [row for row in rows if row.rank is not None and row.rank.pk in wanted]
