"""The rows of alternates of a file: who stands where in which pool."""

from __future__ import annotations

from collections.abc import Callable, Collection
from dataclasses import dataclass
from functools import cached_property
from typing import TypeVar

from bandops.lib.imports.plan import Action, Fault, FieldChange, Line, Mapped, Plan, Record
from bandops.lib.imports.words import Words
from bandops.lib.names import plain
from roster.people.enums import AlternatePool
from roster.people.lookup import MemberIndex, PartIndex
from roster.people.models import Member, Part, Qualification, Season
from roster.ranks.imports.rank_of_part import RanksOfParts
from roster.ranks.imports.standings import STANDING, read_standing
from roster.ranks.models import AlternatePlace, Holding, Rank

T = TypeVar("T")


@dataclass(frozen=True)
class Named:
    """One row: the member it names, their rank, and the standing it gives (0 for none)."""

    record: Record
    member: Member
    rank: Rank
    standing: int


Group = tuple[str, Part]
"""A pool: of the rank of a label, or without one wherever the part is played."""
Seat = tuple[Rank, Part, int]


class AlternatesPlanner:
    """Plans alternates; ``rank`` finds a rank by what the file calls it, ``seated`` are members
    whom the same file gives a spot."""

    def __init__(
        self,
        season: Season,
        words: Words,
        rank: Callable[[str], Rank],
        seated: Collection[int] = (),
    ) -> None:
        self.result, self.season, self.pool = Plan(), season, season.alternates_by
        self.words, self.rank, self.seated = words, rank, seated
        self.members = MemberIndex(season, words.of("member"))
        self.parts = PartIndex(season, words.of("part"))
        qualified = Qualification.objects.filter(member__season=season)
        self.plays = {(q.member_id, q.part_id): q.main for q in qualified}
        holdings = Holding.objects.filter(spot__rank__season=season, ends__isnull=True)
        self.holders = dict(holdings.values_list("member_id", "spot__rank__label"))
        places = AlternatePlace.objects.filter(rank__season=season)
        self.places = {
            p.member_id: p
            for p in places.select_related("member__person", "rank", "part")
            if p.member_id not in seated
        }
        self.seen: dict[int, int] = {}
        self.groups: dict[Group, list[Named]] = {}

    def plan(self, mapped: Mapped) -> Plan:
        """The plan of the rows; a list of the whole band gives alternates a standing, others
        none."""
        records = list(mapped.records())
        some = any(record["standing"] for record in records)
        passed = 0
        for record in records:
            if some and not record["standing"] and self._is_no_alternate(record):
                passed += 1
            else:
                self._read(record)
        if passed:
            self.result.warnings.append(Fault(0, "standing", _passed_words(passed)))
        wanted: dict[int, Seat] = {}
        for group, rows in self._touched().items():
            ranks = {row.member.pk: row.rank for row in rows}
            for standing, member_id in self._order(group, rows).items():
                rank = ranks.get(member_id) or self.places[member_id].rank
                wanted[member_id] = (rank, group[1], standing)
        self._lines(wanted)
        if any(line.action is not Action.SAME for line in self.result.lines):
            self.result.after.append(lambda: self._write(wanted))
        return self.result

    def _read(self, record: Record) -> None:
        member = self._found(record, "member", self.members.find)
        standing = self._found(record, "standing", self._standing)
        named = self._found(record, "rank", self.rank) if record.has("rank") else None
        if member is None or standing is None or (named is None and record.has("rank")):
            return
        part = self._part(record, member)
        if part is None or not self._fits(record, member, part):
            return
        rank = named or self._found_by_part(record, part, standing)
        if rank is None:
            return
        group = self.groups.setdefault(self._group(rank, part), [])
        if standing and any(named.standing == standing for named in group):
            pool = f"{rank}, {part}" if self.pool == AlternatePool.RANK else str(part)
            message = f"Standing {standing} comes twice for {pool}."
            self.result.faults.append(record.fault("standing", message))
            return
        group.append(Named(record, member, rank, standing))

    @cached_property
    def by_part(self) -> RanksOfParts:
        """Read only for a file without ranks."""
        return RanksOfParts(self.season, self.words)

    def _is_no_alternate(self, record: Record) -> bool:
        """Without a standing where others have one: whoever holds a spot, and everybody where
        no rank is given."""
        if not record.has("rank"):
            return True
        try:
            return self.members.find(record["member"]).pk in self.holders
        except ValueError:
            return False

    def _found_by_part(self, record: Record, part: Part, standing: int) -> Rank | None:
        try:
            return self.by_part.rank(part, standing)
        except ValueError as error:
            self.result.faults.append(record.fault("part", error))
            return None

    def _group(self, rank: Rank, part: Part) -> Group:
        return (plain(rank.label) if self.pool == AlternatePool.RANK else ""), part

    def _standing(self, text: str) -> int:
        return read_standing(text, self.words.of(STANDING.kind))

    def _found(self, record: Record, key: str, find: Callable[[str], T]) -> T | None:
        try:
            return find(record[key])
        except ValueError as error:
            self.result.faults.append(record.fault(key, error))
            return None

    def _part(self, record: Record, member: Member) -> Part | None:
        if record["part"]:
            return self._found(record, "part", self.parts.find)
        for part in self.parts.parts:
            if self.plays.get((member.pk, part.pk)):
                return part
        self.result.faults.append(record.fault("part", f"{member} has no main part: give one."))
        return None

    def _fits(self, record: Record, member: Member, part: Part) -> bool:
        if member.pk in self.seen:
            message = f"{member} is also in row {self.seen[member.pk]}."
        elif member.pk in self.seated:
            message = f"{member} also has a spot in this file."
        elif member.pk in self.holders:
            label = self.holders[member.pk]
            message = f"{member} holds a spot in rank {label}: an alternate has none."
        elif (member.pk, part.pk) not in self.plays:
            message = f"{member} does not play {part}."
        else:
            self.seen[member.pk] = record.number
            return True
        self.result.faults.append(record.fault("member", message))
        return False

    def _touched(self) -> dict[Group, list[Named]]:
        """The groups the file names, and those that members leave for one of them."""
        left: dict[Group, list[Named]] = {
            self._group(place.rank, place.part): []
            for place in self.places.values()
            if place.member_id in self.seen
        }
        return left | self.groups

    def _order(self, group: Group, rows: list[Named]) -> dict[int, int]:
        """Standing -> member: the file's first, then the others in their order, then the rest."""
        order = {row.standing: row.member.pk for row in rows if row.standing}
        mine = [p for p in self.places.values() if self._group(p.rank, p.part) == group]
        mine.sort(key=lambda p: p.standing or 0)
        others = [p for p in mine if p.member_id not in self.seen]
        if others:
            for place in mine:
                unsaid = any(r.member.pk == place.member_id and not r.standing for r in rows)
                if unsaid and place.standing:
                    order.setdefault(place.standing, place.member_id)
        left = sorted(p.standing or 0 for p in mine if p.member_id in self.seen)
        at = 0
        for place in others:
            now = place.standing or 0
            at = max(at + 1, now - sum(standing < now for standing in left))
            at = _free(order, at)
            order[at] = place.member_id
        for row in rows:
            if row.member.pk not in order.values():
                at = _free(order, at + 1)
                order[at] = row.member.pk
        return order

    def _lines(self, wanted: dict[int, Seat]) -> None:
        rows = {named.member.pk: named.record.number for g in self.groups.values() for named in g}
        names = {m.pk: m for m in self.members.members}
        for member_id, seat in wanted.items():
            place = self.places.get(member_id)
            before = (place.rank, place.part, place.standing) if place else None
            action = Action.ADD if before is None else Action.CHANGE
            action = Action.SAME if before == seat else action
            row = rows.get(member_id, 0)
            if row or action is not Action.SAME:
                changed = before is not None and before != seat
                changes = (FieldChange("place", _text(before), _text(seat)),) if changed else ()
                label = f"{names[member_id]}, {_text(seat)}"
                self.result.lines.append(Line(row, action, label, changes))
        self.result.lines.sort(key=lambda line: (not line.row, line.row))

    def _write(self, wanted: dict[int, Seat]) -> None:
        """Standings are unique, so they are cleared before they are written."""
        # Whoever got a spot just now has left a pool, whose others moved up.
        now = AlternatePlace.objects.filter(member_id__in=wanted).select_related("rank", "part")
        places = {place.member_id: place for place in now}
        moved = [
            place
            for member_id, place in places.items()
            if member_id in wanted and (place.rank, place.part, place.standing) != wanted[member_id]
        ]
        AlternatePlace.objects.filter(pk__in=[p.pk for p in moved]).update(standing=None)
        for place in moved:
            place.rank, place.part, place.standing = wanted[place.member_id]
            place.pool = self.pool
            place.save()
        for member_id, (rank, part, standing) in wanted.items():
            if member_id not in places:
                AlternatePlace.objects.create(
                    member_id=member_id, rank=rank, part=part, pool=self.pool, standing=standing
                )


def _passed_words(count: int) -> str:
    return f"{count} row{'' if count == 1 else 's'} without a standing: no alternates, left out."


def _free(order: dict[int, int], at: int) -> int:
    while at in order:
        at += 1
    return at


def _text(seat: tuple[Rank, Part, int | None] | None) -> str:
    return f"{seat[0]}, {seat[1]}, standing {seat[2]}" if seat else ""
