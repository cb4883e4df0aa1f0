"""One row of the import of ranks: the spot it wants, and what is wrong with it."""

from __future__ import annotations

import datetime
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from typing import TypeVar

from bandops.lib.imports.plan import Fault, Plan, Record
from bandops.lib.imports.values import YES_NO, parse_whole, parse_yes_no
from bandops.lib.imports.words import Vocabulary, Words
from bandops.lib.names import label_words, plain
from roster.people.enums import MemberStatus
from roster.people.lookup import MemberIndex, PartIndex
from roster.people.models import Member, Part, Qualification, Season
from roster.ranks.imports.holder_cells import HolderCell
from roster.ranks.imports.holders import HolderReader
from roster.ranks.imports.holding_index import HoldingIndex
from roster.ranks.imports.open_spots import RANK_PART, OpenSpot, RankParts
from roster.ranks.imports.seats import Seat, SeatReader
from roster.ranks.lookup import SpotIndex
from roster.ranks.models import Spot

T = TypeVar("T")
LEFT_OUT = "This open spot is new and has no part, so it is left out."
EMPTY = "No name and no part: left out, no spot is made."
NO_ROLE = "none"
ROLES = Vocabulary(
    "role",
    "role in a rank",
    {"leader": "leader", "assistant_leader": "assistant leader", NO_ROLE: "no role"},
    {
        "rank leader": "leader",
        "captain": "leader",
        "x": "leader",
        "yes": "leader",
        "assistant": "assistant_leader",
        "second": "assistant_leader",
        "2nd": "assistant_leader",
        "rl": "leader",
        "al": "assistant_leader",
        "arl": "assistant_leader",
        "asst leader": "assistant_leader",
        "assistant rank leader": "assistant_leader",
        "asst rank leader": "assistant_leader",
        "no": NO_ROLE,
    },
).register()


@dataclass
class Wanted:
    """One spot as the file wants it."""

    seat: Seat
    part: Part
    weight: int
    needs_experience: bool
    holder: Member | None
    role: str


class RowReader:
    """Reads rows one by one; faults and warnings go to the plan."""

    def __init__(
        self, season: Season, spots: SpotIndex, now: HoldingIndex, result: Plan, words: Words
    ) -> None:
        self.season, self.spots, self.now, self.result = season, spots, now, result
        self.words = words
        self.members = MemberIndex(season, words.of("member"))
        self.holders = HolderReader(self.members, words.of("member"), self._players)
        self.parts = PartIndex(season, words.of("part"))
        self.names = {m.pk: m.name for m in self.members.members}
        qualified = Qualification.objects.filter(member__season=season)
        self.plays = set(qualified.values_list("member_id", "part_id"))
        mains = qualified.filter(main=True).select_related("part__instrument")
        self.main_parts = {q.member_id: q.part for q in mains}
        self.places = SeatReader(spots)
        self.seats: dict[tuple[str, int], int] = {}
        self.labels: dict[tuple[str, ...], int] = {}
        self.holding: dict[int, int] = {}
        self.roles: dict[tuple[str, str], int] = {}
        self.open: list[OpenSpot] = []

    def wanted(self, record: Record) -> Wanted | None:
        """The row's spot; None where the row does not say one, or leaves a new one open whose
        part the rest of its rank tells."""
        before = len(self.result.faults)
        seat, cell = self._seat(record), self.holders.cell(record["holder"])
        part = self._part(record, seat, cell)
        weight = self._read(record, "weight", lambda t: parse_whole(t, 1, least=1, most=5))
        experience = self._read(record, "needs_experience", self._yes_no)
        holder = self._holder(record, cell, part, seat.spot if seat else None)
        role = self._role_of(record, cell)
        if role:
            self._check_role(record, seat.rank if seat else "", role, holder)
        if len(self.result.faults) > before or part is None or seat is None:
            return None
        return Wanted(seat, part, weight or 1, bool(experience), holder, role or "")

    def open_spots(self, wanted: Iterable[Wanted]) -> list[tuple[Record, Wanted]]:
        """The open spots that need what the rest of their rank does."""
        there = [(spot.rank.label, spot.part) for spot in self.spots.spots.values()]
        needed = [*there, *((row.seat.rank, row.part) for row in wanted)]
        ranks = RankParts(needed, self.parts.parts, self.words.of(RANK_PART))
        found = []
        for it in self.open:
            try:
                part = ranks.part_of(it.seat.rank)
            except ValueError as error:
                self._fault(it.record, "holder", error)
                continue
            if part is None:
                self.result.warnings.append(it.record.fault("spot", LEFT_OUT))
            else:
                found.append((it.record, Wanted(it.seat, part, 1, False, None, "")))
        return found

    def _read(self, record: Record, key: str, parse: Callable[[str], T]) -> T | None:
        try:
            return parse(record[key])
        except ValueError as error:
            self._fault(record, key, error)
            return None

    def _yes_no(self, text: str) -> bool:
        return parse_yes_no(text, False, self.words.of(YES_NO.kind))

    def _players(self, text: str) -> set[int]:
        """Ids of the members who play what a text names, in whatever part of it."""
        parts = {part.pk for part in self.parts.named(text)}
        return {member for member, part in self.plays if part in parts}

    def _role_of(self, record: Record, cell: HolderCell) -> str | None:
        """As the row says, else by the mark beside the name."""
        if record["role"] or not cell.mark:
            return self._read(record, "role", self._role)
        return self._read(record, "holder", lambda _: self._role(cell.mark))

    def _role(self, text: str) -> str:
        message = f"“{text}” is not leader or assistant leader."
        role = ROLES.find(text, self.words.of(ROLES.kind), message) if text else NO_ROLE
        return "" if role == NO_ROLE else role

    def _fault(self, record: Record, key: str, problem: str | ValueError) -> None:
        self.result.faults.append(record.fault(key, problem))

    def _part(self, record: Record, seat: Seat | None, cell: HolderCell) -> Part | None:
        """What the spot needs: as the file says, else as it is, else what its holder plays."""
        if record["part"]:
            return self._read(record, "part", self.parts.find)
        if seat is not None and seat.spot is not None:
            return seat.spot.part
        try:
            holder = self.holders.find(cell.name) if cell.name else None
        except ValueError:
            return None  # told where the holder is read
        part = self.main_parts.get(holder.pk) if holder else None
        if part is None and (holder or (record.has("part") and not cell.open)):
            self._fault(record, "part", "Which part does the spot need? Give one.")
        elif part is None and seat is not None and cell.open:
            self.open.append(OpenSpot(record, seat))
        elif part is None and seat is not None:
            self.result.warnings.append(record.fault("spot", EMPTY))
        return part

    def _seat(self, record: Record) -> Seat | None:
        """The row's spot, unless its label or another way to write it stands above."""
        try:
            seat = self.places.read(record)
        except ValueError as error:
            self._fault(record, "spot", error)
            return None
        if seat.key in self.seats:
            self._fault(record, "spot", f"{seat.text} is also in row {self.seats[seat.key]}.")
        elif label_words(seat.text) in self.labels:
            row = self.labels[label_words(seat.text)]
            self._fault(record, "spot", f"A spot that reads {seat.text} is also in row {row}.")
        self.seats.setdefault(seat.key, record.number)
        self.labels.setdefault(label_words(seat.text), record.number)
        return seat

    def check_labels(self) -> None:
        """No spot of the file gets the label of one that the file does not name."""
        for words, row in self.labels.items():
            there = self.spots.by_words.get(words)
            if there is not None and (plain(there.rank.label), there.number) not in self.seats:
                message = f"There is already a spot {there}."
                self.result.faults.append(Fault(row, "label", message))

    def _holder(
        self, record: Record, cell: HolderCell, part: Part | None, spot: Spot | None
    ) -> Member | None:
        if not record.has("holder"):
            stays = self.now.holders.get(spot.pk) if spot else None
            if part is not None and stays and (stays, part.pk) not in self.plays:
                self._fault(record, "part", f"{self.names[stays]} does not play {part}.")
            return None
        if not cell.name:
            return None
        member = self._read(record, "holder", lambda _: self.holders.find(cell.name))
        if member is None:
            return None
        for text in self.holders.not_read(cell.name, member):
            self.result.warnings.append(
                record.fault("holder", f"“({text})” next to {member} is not read.")
            )
        if member.pk in self.holding:
            self._fault(record, "holder", f"{member} is also in row {self.holding[member.pk]}.")
        self.holding.setdefault(member.pk, record.number)
        if part is not None and (member.pk, part.pk) not in self.plays:
            self._fault(record, "holder", f"{member} does not play {part}.")
        if member.status != MemberStatus.ACTIVE:
            status = member.get_status_display()
            self.result.warnings.append(record.fault("holder", f"{member} is {status}."))
        if spot is None or self.now.holders.get(spot.pk) != member.pk:
            taken = self.now.taken(spot, member, self.starts(spot, member))
            if taken:
                self._fault(record, "holder", taken)
        return member

    def starts(self, spot: Spot | None, member: Member) -> datetime.date:
        """The season's start where neither has a past, else today."""
        fresh = (spot is None or spot.pk not in self.now.spots) and member.pk not in self.now.people
        return self.season.starts if fresh else self.today()

    def today(self) -> datetime.date:
        """Today, or the season's nearest day."""
        return min(max(self.season.today(), self.season.starts), self.season.ends)

    def _check_role(self, record: Record, label: str, role: str, holder: Member | None) -> None:
        if holder is None:
            self._fault(record, "role", f"A {role} needs a holder in the same row.")
        key = (plain(label), role)
        if key in self.roles:
            self._fault(record, "role", f"Rank {label} has a {role} in row {self.roles[key]}.")
        self.roles.setdefault(key, record.number)
