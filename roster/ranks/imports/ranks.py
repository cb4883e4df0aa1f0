"""Import of ranks and spots with their holders, leaders and seconds."""

from __future__ import annotations

import datetime
from collections.abc import Callable
from dataclasses import dataclass
from typing import TypeVar

from django.utils import timezone

from bandops.lib.accounts.models import User
from bandops.lib.bounds import MOST_ORDER
from bandops.lib.dates import day_words
from bandops.lib.imports.kinds import ImportKind, register
from bandops.lib.imports.plan import Action, Column, FieldChange, Line, Mapped, Plan, Record
from bandops.lib.imports.values import parse_whole, parse_yes_no
from bandops.lib.names import plain
from roster.people.enums import MemberStatus
from roster.people.lookup import MemberIndex, PartIndex
from roster.people.models import Member, Part, Qualification, Season
from roster.ranks.lookup import SpotIndex, parse_spot, rank_label
from roster.ranks.models import AlternatePlace, Holding, Rank, Spot
from roster.ranks.services.alternates import remove_alternate
from roster.ranks.services.holdings import place_holder, vacate_spot
from roster.ranks.services.spots import open_holding

T = TypeVar("T")

COLUMNS = (
    Column(
        "spot",
        "spot",
        "rank and number, such as 4-11; or the number alone beside a rank column",
        True,
        ("spot label", "spot number", "number", "place", "pos", "position"),
    ),
    Column(
        "rank", "rank", "the rank's label; taken from the spot when empty", False, ("line", "row")
    ),
    Column("part", "part", "code or name of the part the spot needs", True, ("instrument", "horn")),
    Column("weight", "weight", "1 to 5: how much a hole here hurts; 1 when empty"),
    Column(
        "needs_experience",
        "needs experience",
        "yes: only experienced marchers",
        False,
        ("experienced", "exp", "veteran"),
    ),
    Column(
        "holder",
        "holder",
        "student number, e-mail or name; empty: nobody",
        False,
        ("member", "name", "marcher", "student number", "id", "student id", "holder name", "who"),
    ),
    Column("role", "role", "leader or second of the rank", False, ("leader", "captain")),
)
HIGHEST = 999
LEADERS = {
    "leader": "leader",
    "rank leader": "leader",
    "captain": "leader",
    "x": "leader",
    "yes": "leader",
    "second": "second",
    "2nd": "second",
    "no": "",
    "": "",
}


@dataclass
class Wanted:
    """One spot as the file wants it."""

    label: str
    number: int
    part: Part
    weight: int
    needs_experience: bool
    holder: Member | None
    role: str


def plan(mapped: Mapped, season: Season, actor: User) -> Plan:
    """Spots by label. Spots the file does not name stay as they are."""
    return _Planner(mapped, season, actor).plan()


class _Planner:
    def __init__(self, mapped: Mapped, season: Season, actor: User) -> None:
        self.season, self.actor, self.mapped = season, actor, mapped
        self.members, self.parts = MemberIndex(season), PartIndex(season)
        self.spots = SpotIndex(season)
        self.now = HoldingIndex(season)
        self.names = {m.pk: m.name for m in self.members.members}
        qualified = Qualification.objects.filter(member__season=season)
        self.plays = set(qualified.values_list("member_id", "part_id"))
        self.result = Plan()
        self.seats: dict[tuple[str, int], int] = {}
        self.holding: dict[int, int] = {}
        self.roles: dict[tuple[str, str], int] = {}
        self.named: dict[str, dict[str, Member]] = {}
        self.new_ranks: dict[str, Rank] = {}

    def plan(self) -> Plan:
        wanted = [(r, w) for r in self.mapped.records() if (w := self._wanted(r)) is not None]
        for _, row in wanted:
            if row.role and row.holder:
                self.named.setdefault(plain(row.label), {})[row.role] = row.holder
        for record, row in wanted:
            self.result.lines.append(self._line(record, row))
        self._vacate_first(wanted)
        self.result.after.append(self._name_leaders)
        return self.result

    def _wanted(self, record: Record) -> Wanted | None:
        before = len(self.result.faults)
        label, number = self._seat(record)
        part = self._read(record, "part", self.parts.find)
        weight = self._read(record, "weight", lambda t: parse_whole(t, 1, least=1, most=5))
        experience = self._read(record, "needs_experience", lambda t: parse_yes_no(t, False))
        holder = self._holder(record, part, label, number)
        role = LEADERS.get(record["role"].lower())
        if role is None:
            self._fault(record, "role", f"“{record['role']}” is not leader or second.")
        elif role:
            self._check_role(record, label, role, holder)
        if len(self.result.faults) > before or part is None or number is None:
            return None
        return Wanted(label, number, part, weight or 1, bool(experience), holder, role or "")

    def _read(self, record: Record, key: str, parse: Callable[[str], T]) -> T | None:
        try:
            return parse(record[key])
        except ValueError as error:
            self._fault(record, key, str(error))
            return None

    def _fault(self, record: Record, key: str, message: str) -> None:
        self.result.faults.append(record.fault(key, message))

    def _seat(self, record: Record) -> tuple[str, int | None]:
        try:
            rank = rank_label(record["rank"]) if record["rank"] else ""
            if rank and record["spot"].isdecimal():
                label, number = rank, parse_whole(record["spot"], least=1, most=MOST_ORDER)
            else:
                label, number = parse_spot(record.cell("spot"))
        except ValueError as error:
            self._fault(record, "spot", str(error))
            return "", None
        if not 1 <= number <= HIGHEST:
            self._fault(record, "spot", f"A spot's number is 1 to {HIGHEST}, not {number}.")
        if rank and plain(rank) != plain(label):
            self._fault(record, "spot", f"{record['spot']} is not in rank {record['rank']}.")
        seat = (plain(label), number)
        if seat in self.seats:
            self._fault(record, "spot", f"{label}-{number} also stands in row {self.seats[seat]}.")
        self.seats.setdefault(seat, record.number)
        return label, number

    def _holder(
        self, record: Record, part: Part | None, label: str, number: int | None
    ) -> Member | None:
        spot = self.spots.spots.get((plain(label), number or 0))
        if not record.has("holder"):
            stays = self.now.holders.get(spot.pk) if spot else None
            if part is not None and stays and (stays, part.pk) not in self.plays:
                self._fault(record, "part", f"{self.names[stays]} does not play {part}.")
            return None
        member = self._read(record, "holder", self.members.find) if record["holder"] else None
        if member is None:
            return None
        if member.pk in self.holding:
            self._fault(record, "holder", f"{member} also stands in row {self.holding[member.pk]}.")
        self.holding.setdefault(member.pk, record.number)
        if part is not None and (member.pk, part.pk) not in self.plays:
            self._fault(record, "holder", f"{member} does not play {part}.")
        if member.status != MemberStatus.ACTIVE:
            status = member.get_status_display()
            self.result.warnings.append(record.fault("holder", f"{member} is {status}."))
        if spot is None or self.now.holders.get(spot.pk) != member.pk:
            taken = self.now.taken(spot, member, self._on(spot, member))
            if taken:
                self._fault(record, "holder", taken)
        return member

    def _on(self, spot: Spot | None, member: Member) -> datetime.date:
        """The season's start where neither has a past, else today."""
        fresh = (spot is None or spot.pk not in self.now.spots) and member.pk not in self.now.people
        return self.season.starts if fresh else self._today()

    def _today(self) -> datetime.date:
        return min(max(timezone.localdate(), self.season.starts), self.season.ends)

    def _check_role(self, record: Record, label: str, role: str, holder: Member | None) -> None:
        if holder is None:
            self._fault(record, "role", f"A {role} needs a holder in the same row.")
        key = (plain(label), role)
        if key in self.roles:
            self._fault(record, "role", f"Rank {label} has a {role} in row {self.roles[key]}.")
        self.roles.setdefault(key, record.number)

    def _rank(self, label: str) -> Rank:
        key = plain(label)
        rank = self.spots.ranks.get(key) or self.new_ranks.get(key)
        if rank is None:
            order = len(self.spots.ranks) + len(self.new_ranks) + 1
            rank = self.new_ranks[key] = Rank(season=self.season, label=label, order=order)
        return rank

    def _line(self, record: Record, wanted: Wanted) -> Line:
        spot = self.spots.spots.get((plain(wanted.label), wanted.number))
        rank = self._rank(wanted.label)
        changes = self._changes(record, spot, rank, wanted)
        self.result.basis.append(wanted.holder.pk if wanted.holder else None)
        action = Action.ADD if spot is None else Action.CHANGE if changes else Action.SAME
        has = {key: record.has(key) for key in ("weight", "needs_experience")}

        def do() -> None:
            if action is Action.SAME:
                return
            rank.save()
            target = spot or Spot(rank=rank, number=wanted.number)
            target.part = wanted.part
            if has["weight"]:
                target.weight = wanted.weight
            if has["needs_experience"]:
                target.needs_experience = wanted.needs_experience
            target.save()
            self._seat_holder(target, spot, wanted.holder)

        return Line(record.number, action, f"{wanted.label}-{wanted.number}", tuple(changes), do)

    def _seat_holder(self, spot: Spot, known: Spot | None, member: Member | None) -> None:
        if member is None or self.now.holders.get(spot.pk) == member.pk:
            return
        place = AlternatePlace.objects.filter(member=member).first()
        if place is not None:
            remove_alternate(actor=self.actor, place=place)
        place_holder(actor=self.actor, spot=spot, member=member, on=self._on(known, member))

    def _changes(
        self, record: Record, spot: Spot | None, rank: Rank, wanted: Wanted
    ) -> list[FieldChange]:
        now = spot or Spot(weight=0)
        held_by = self.now.holders.get(now.pk or 0)
        experience = "" if spot is None else _yes_no(now.needs_experience)
        columns = (
            ("part", now.part.name if spot else "", wanted.part.name, True),
            ("weight", str(now.weight or ""), str(wanted.weight), record.has("weight")),
            (
                "needs experience",
                experience,
                _yes_no(wanted.needs_experience),
                record.has("needs_experience"),
            ),
        )
        changes = [FieldChange(n, old, new) for n, old, new, has in columns if has and old != new]
        holder = wanted.holder
        if record.has("holder") and held_by != (holder.pk if holder else None):
            new_name = holder.name if holder else ""
            changes.append(FieldChange("holder", self.names.get(held_by or 0, ""), new_name))
            if holder and holder.pk in self.now.alternates:
                place = self.now.alternates[holder.pk]
                changes.append(FieldChange("place as alternate", place, ""))
        return changes + (self._role_changes(rank, wanted) if wanted.role else [])

    def _role_changes(self, rank: Rank, wanted: Wanted) -> list[FieldChange]:
        """The role the row gives, and the other one if its bearer moves up or down for it."""
        new = self._leaders(rank)
        changes = []
        for role in ("leader", "second"):
            named_here = role == wanted.role or role not in self.named[plain(rank.label)]
            old_id, member = getattr(rank, f"{role}_id"), new[role]
            if named_here and old_id != (member.pk if member else None):
                old = self.names.get(old_id or 0, "")
                changes.append(FieldChange(role, old, member.name if member else ""))
        return changes

    def _leaders(self, rank: Rank) -> dict[str, Member | None]:
        named = self.named.get(plain(rank.label), {})
        new = {role: named.get(role, getattr(rank, role)) for role in ("leader", "second")}
        if new["leader"] == new["second"]:
            new["second" if "leader" in named else "leader"] = None
        return new

    def _name_leaders(self) -> None:
        """Both at once, so that leader and second can change places."""
        for label in self.named:
            rank = self._rank(label)
            for role, member in self._leaders(rank).items():
                setattr(rank, role, member)
            rank.save()

    def _vacate_first(self, wanted: list[tuple[Record, Wanted]]) -> None:
        """Holders who change leave their spots before anybody is seated."""
        leaving: dict[int, Spot] = {}
        for record, row in wanted:
            spot = self.spots.spots.get((plain(row.label), row.number))
            if spot is None or not record.has("holder"):
                continue
            if self.now.holders.get(spot.pk) not in (None, row.holder.pk if row.holder else None):
                leaving[spot.pk] = spot
        spots = {s.pk: s for s in self.spots.spots.values()}
        for record, row in wanted:
            spot = spots.get(self.now.held.get(row.holder.pk, 0)) if row.holder else None
            if spot is None or (plain(spot.rank.label), spot.number) in self.seats:
                continue
            leaving[spot.pk] = spot
            change = FieldChange("holder", self.names[self.now.holders[spot.pk]], "")
            self.result.lines.append(Line(record.number, Action.CHANGE, spot.label, (change,)))
        if leaving:
            on = self._today()

            def vacate() -> None:
                for spot in leaving.values():
                    if open_holding(spot=spot):
                        vacate_spot(actor=self.actor, spot=spot, on=on)

            self.result.lines.insert(0, Line(0, Action.SAME, "", (), vacate))


class HoldingIndex:
    """Who holds and held the season's spots, and who is an alternate."""

    def __init__(self, season: Season) -> None:
        self.holdings = list(
            Holding.objects.filter(spot__rank__season=season).select_related(
                "spot__rank", "member__person"
            )
        )
        running = [h for h in self.holdings if h.ends is None]
        self.holders = {h.spot_id: h.member_id for h in running}
        self.held = {h.member_id: h.spot_id for h in running}
        self.spots = {h.spot_id for h in self.holdings}
        self.people = {h.member_id for h in self.holdings}
        places = AlternatePlace.objects.filter(rank__season=season).select_related("rank")
        self.alternates = {p.member_id: f"{p.rank}, standing {p.standing}" for p in places}

    def taken(self, spot: Spot | None, member: Member, on: datetime.date) -> str:
        """What stands in the way of a holding from a day: one that ends later."""
        for h in self.holdings:
            here = h.member_id == member.pk or (spot is not None and h.spot_id == spot.pk)
            if here and h.ends is not None and h.ends > on:
                return f"{h.member} holds {h.spot} until {day_words(h.ends)}."
        return ""


def _yes_no(value: bool) -> str:
    return "yes" if value else "no"


KIND = register(
    ImportKind(
        "ranks",
        "Ranks and spots",
        "One row a spot, with its holder if there is one. Ranks are made as they are named.",
        COLUMNS,
        plan,
        order=3,
    )
)
