"""Import of ranks and spots with their holders, leaders and seconds."""

from __future__ import annotations

from dataclasses import dataclass

from django.utils import timezone

from bandops.lib.accounts.models import User
from bandops.lib.imports.kinds import ImportKind, register
from bandops.lib.imports.plan import Action, Column, FieldChange, Line, Mapped, Plan, Record
from bandops.lib.imports.values import parse_whole, parse_yes_no
from bandops.lib.names import plain
from roster.imports.lookup import MemberIndex, PartIndex, SpotIndex, parse_spot
from roster.models import Holding, Member, Part, Qualification, Rank, Season, Spot
from roster.services.ranks import open_holding, place_holder, vacate_spot

COLUMNS = (
    Column(
        "spot",
        "spot",
        "rank and number, such as 4-11; or the number alone beside a rank column",
        True,
        ("spot label", "spot number", "number", "place"),
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
        ("experienced",),
    ),
    Column(
        "holder",
        "holder",
        "student number, e-mail or name; empty: nobody",
        False,
        ("member", "name", "marcher", "student number"),
    ),
    Column("role", "role", "leader or second of the rank", False, ("leader",)),
)
LEADERS = {"leader": "leader", "rank leader": "leader", "second": "second", "": ""}


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
        holdings = Holding.objects.filter(spot__rank__season=season, ends__isnull=True)
        self.holders = {h.spot_id: h.member_id for h in holdings}
        self.names = {m.pk: m.name for m in self.members.members}
        qualified = Qualification.objects.filter(member__season=season)
        self.plays = set(qualified.values_list("member_id", "part_id"))
        self.result = Plan()
        self.seats: dict[tuple[str, int], int] = {}
        self.holding: dict[int, int] = {}
        self.roles: dict[tuple[str, str], int] = {}
        self.new_ranks: dict[str, Rank] = {}

    def plan(self) -> Plan:
        wanted = [(r, w) for r in self.mapped.records() if (w := self._wanted(r)) is not None]
        for record, row in wanted:
            self.result.lines.append(self._line(record, row))
        self._vacate_first(wanted)
        return self.result

    def _wanted(self, record: Record) -> Wanted | None:
        before = len(self.result.faults)
        label, number = self._seat(record)
        part = holder = None
        weight, experience = 1, False
        try:
            part = self.parts.find(record["part"])
        except ValueError as error:
            self._fault(record, "part", str(error))
        try:
            weight = parse_whole(record["weight"], 1, least=1, most=5)
        except ValueError as error:
            self._fault(record, "weight", str(error))
        try:
            experience = parse_yes_no(record["needs_experience"], False)
        except ValueError as error:
            self._fault(record, "needs_experience", str(error))
        if record["holder"]:
            holder = self._holder(record, part)
        role = LEADERS.get(record["role"].lower())
        if role is None:
            self._fault(record, "role", f"“{record['role']}” is not leader or second.")
        elif role:
            self._check_role(record, label, role, holder)
        if len(self.result.faults) > before or part is None or number is None:
            return None
        return Wanted(label, number, part, weight, experience, holder, role or "")

    def _fault(self, record: Record, key: str, message: str) -> None:
        self.result.faults.append(record.fault(key, message))

    def _seat(self, record: Record) -> tuple[str, int | None]:
        try:
            if record["rank"] and record["spot"].isdigit():
                label, number = record["rank"], int(record["spot"])
            else:
                label, number = parse_spot(record.cell("spot"))
        except ValueError as error:
            self._fault(record, "spot", str(error))
            return "", None
        if record["rank"] and plain(record["rank"]) != plain(label):
            self._fault(record, "spot", f"{record['spot']} is not in rank {record['rank']}.")
        seat = (plain(label), number)
        if seat in self.seats:
            self._fault(record, "spot", f"{label}-{number} also stands in row {self.seats[seat]}.")
        self.seats.setdefault(seat, record.number)
        return label, number

    def _holder(self, record: Record, part: Part | None) -> Member | None:
        try:
            member = self.members.find(record["holder"])
        except ValueError as error:
            self._fault(record, "holder", str(error))
            return None
        if member.pk in self.holding:
            self._fault(record, "holder", f"{member} also stands in row {self.holding[member.pk]}.")
        self.holding.setdefault(member.pk, record.number)
        if part is not None and (member.pk, part.pk) not in self.plays:
            self._fault(record, "holder", f"{member} does not play {part}.")
        return member

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
        changes = self._changes(record, spot, rank, wanted) if spot else []
        action = Action.ADD if spot is None else Action.CHANGE if changes else Action.SAME
        has = {key: record.has(key) for key in ("weight", "needs_experience", "holder")}

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
            self._seat_holder(target, wanted)
            if wanted.role:
                setattr(rank, wanted.role, wanted.holder)
                rank.save()

        return Line(record.number, action, f"{wanted.label}-{wanted.number}", tuple(changes), do)

    def _seat_holder(self, spot: Spot, wanted: Wanted) -> None:
        if wanted.holder is None or self.holders.get(spot.pk) == wanted.holder.pk:
            return
        today = max(timezone.localdate(), self.season.starts)
        on = self.season.starts if spot.pk not in self.holders else today
        place_holder(actor=self.actor, spot=spot, member=wanted.holder, on=on)

    def _changes(self, record: Record, spot: Spot, rank: Rank, wanted: Wanted) -> list[FieldChange]:
        changes = []
        if spot.part_id != wanted.part.pk:
            changes.append(FieldChange("part", spot.part.name, wanted.part.name))
        if record.has("weight") and spot.weight != wanted.weight:
            changes.append(FieldChange("weight", str(spot.weight), str(wanted.weight)))
        if record.has("needs_experience") and spot.needs_experience != wanted.needs_experience:
            now, new = (
                ("yes" if v else "no") for v in (spot.needs_experience, wanted.needs_experience)
            )
            changes.append(FieldChange("needs experience", now, new))
        held_by = self.holders.get(spot.pk)
        holder = wanted.holder.pk if wanted.holder else None
        if record.has("holder") and held_by != holder:
            new_name = wanted.holder.name if wanted.holder else ""
            changes.append(FieldChange("holder", self.names.get(held_by or 0, ""), new_name))
        if wanted.role and wanted.holder and getattr(rank, f"{wanted.role}_id") != wanted.holder.pk:
            changes.append(FieldChange(wanted.role, "", wanted.holder.name))
        return changes

    def _vacate_first(self, wanted: list[tuple[Record, Wanted]]) -> None:
        """Holders who change leave their spots before anybody is seated."""
        leaving: dict[int, Spot] = {}
        for record, row in wanted:
            spot = self.spots.spots.get((plain(row.label), row.number))
            if spot is None or not record.has("holder"):
                continue
            if self.holders.get(spot.pk) not in (None, row.holder.pk if row.holder else None):
                leaving[spot.pk] = spot
        for member in [row.holder for _, row in wanted if row.holder]:
            for spot_id, member_id in self.holders.items():
                if member_id == member.pk and spot_id not in leaving:
                    target = next(r for _, r in wanted if r.holder == member)
                    spot = next(s for s in self.spots.spots.values() if s.pk == spot_id)
                    if (plain(target.label), target.number) != (
                        plain(spot.rank.label),
                        spot.number,
                    ):
                        leaving[spot_id] = spot
        if leaving:
            on = max(timezone.localdate(), self.season.starts)

            def vacate() -> None:
                for spot in leaving.values():
                    if open_holding(spot=spot):
                        vacate_spot(actor=self.actor, spot=spot, on=on)

            first = Line(0, Action.SAME, "", (), vacate)
            self.result.lines.insert(0, first)


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
