"""Import of ranks and spots with their holders, leaders and assistant leaders."""

from __future__ import annotations

from bandops.lib.accounts.models import User
from bandops.lib.imports.kinds import ImportKind, register
from bandops.lib.imports.plan import Action, FieldChange, Line, Mapped, Plan, Record
from bandops.lib.names import plain
from roster.people.models import Member, Season
from roster.ranks.imports.alternate_rows import AlternatesPlanner
from roster.ranks.imports.grid_layout import table_of
from roster.ranks.imports.holding_index import HoldingIndex
from roster.ranks.imports.rank_alternates import alternates_among, as_alternates, as_spots
from roster.ranks.imports.rank_columns import COLUMNS
from roster.ranks.imports.rank_rows import RowReader, Wanted
from roster.ranks.lookup import SpotIndex, rank_label
from roster.ranks.models import AlternatePlace, Rank, Spot
from roster.ranks.services.alternates import remove_alternate
from roster.ranks.services.holdings import place_holder, vacate_spot
from roster.ranks.services.spots import open_holding, tell_relabeled


def plan(mapped: Mapped, season: Season, actor: User) -> Plan:
    """Spots by label. Spots the file does not name stay as they are."""
    return _Planner(mapped, season, actor).plan()


class _Planner:
    def __init__(self, mapped: Mapped, season: Season, actor: User) -> None:
        self.season, self.actor = season, actor
        self.spots = SpotIndex(season, mapped.words)
        at = alternates_among(mapped, self.spots)
        self.mapped = as_spots(mapped, at)
        self.alternates = as_alternates(mapped, at)
        self.now = HoldingIndex(season)
        self.result = Plan()
        self.reader = RowReader(season, self.spots, self.now, self.result, mapped.words)
        self.named: dict[str, dict[str, Member]] = {}
        self.new_ranks: dict[str, Rank] = {}

    def plan(self) -> Plan:
        wanted = [(r, w) for r in self.mapped.records() if (w := self.reader.wanted(r)) is not None]
        wanted += self.reader.open_spots([row for _, row in wanted])
        for _, row in wanted:
            if row.role and row.holder:
                self.named.setdefault(plain(row.seat.rank), {})[row.role] = row.holder
        self.reader.check_labels()
        for record, row in wanted:
            self.result.lines.append(self._line(record, row))
        self._vacate_first(wanted)
        self._free_labels_first(wanted)
        self.result.after.append(self._name_leaders)
        self._plan_alternates()
        return self.result

    def _plan_alternates(self) -> None:
        if not self.alternates.table.rows:
            return
        words, seated = self.alternates.words, self.reader.holding
        planner = AlternatesPlanner(self.season, words, self._rank_named, seated)
        found = planner.plan(self.alternates)
        self.result.lines += found.lines
        self.result.faults += found.faults
        self.result.after += found.after

    def _rank_named(self, text: str) -> Rank:
        """The rank of an alternate, which may be one that this file makes."""
        new = self.new_ranks.get(plain(rank_label(text))) if text else None
        return new or self.spots.rank(text)

    def _rank(self, label: str) -> Rank:
        key = plain(label)
        rank = self.spots.ranks.get(key) or self.new_ranks.get(key)
        if rank is None:
            order = len(self.spots.ranks) + len(self.new_ranks) + 1
            rank = self.new_ranks[key] = Rank(season=self.season, label=label, order=order)
        return rank

    def _line(self, record: Record, wanted: Wanted) -> Line:
        seat, spot = wanted.seat, wanted.seat.spot
        rank = self._rank(seat.rank)
        changes = self._changes(record, spot, rank, wanted)
        self.result.basis.append(wanted.holder.pk if wanted.holder else None)
        action = Action.ADD if spot is None else Action.CHANGE if changes else Action.SAME
        has = {key: record.has(key) for key in ("weight", "needs_experience")}

        def do() -> None:
            if action is Action.SAME:
                return
            rank.save()
            target = spot or Spot(rank=rank, number=seat.number)
            target.own_label = seat.own_label
            target.part = wanted.part
            if has["weight"]:
                target.weight = wanted.weight
            if has["needs_experience"]:
                target.needs_experience = wanted.needs_experience
            target.save()
            self._seat_holder(target, spot, wanted.holder)

        return Line(record.number, action, seat.text, tuple(changes), do)

    def _seat_holder(self, spot: Spot, known: Spot | None, member: Member | None) -> None:
        if member is None or self.now.holders.get(spot.pk) == member.pk:
            return
        place = AlternatePlace.objects.filter(member=member).first()
        if place is not None:
            remove_alternate(actor=self.actor, place=place)
        place_holder(
            actor=self.actor, spot=spot, member=member, on=self.reader.starts(known, member)
        )

    def _changes(
        self, record: Record, spot: Spot | None, rank: Rank, wanted: Wanted
    ) -> list[FieldChange]:
        now = spot or Spot(weight=0)
        held_by = self.now.holders.get(now.pk or 0)
        experience = "" if spot is None else _yes_no(now.needs_experience)
        columns = (
            ("label", now.label if spot else "", wanted.seat.text, spot is not None),
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
            changes.append(FieldChange("holder", self.reader.names.get(held_by or 0, ""), new_name))
            if holder and holder.pk in self.now.alternates:
                place = self.now.alternates[holder.pk]
                changes.append(FieldChange("place as alternate", place, ""))
        return changes + (self._role_changes(rank, wanted) if wanted.role else [])

    def _role_changes(self, rank: Rank, wanted: Wanted) -> list[FieldChange]:
        """The role the row gives, and the other one if its bearer moves up or down for it."""
        new = self._leaders(rank)
        changes = []
        for role in ("leader", "assistant_leader"):
            named_here = role == wanted.role or role not in self.named[plain(rank.label)]
            old_id, member = getattr(rank, f"{role}_id"), new[role]
            if named_here and old_id != (member.pk if member else None):
                old = self.reader.names.get(old_id or 0, "")
                changes.append(
                    FieldChange(role.replace("_", " "), old, member.name if member else "")
                )
        return changes

    def _leaders(self, rank: Rank) -> dict[str, Member | None]:
        named = self.named.get(plain(rank.label), {})
        new = {
            role: named.get(role, getattr(rank, role)) for role in ("leader", "assistant_leader")
        }
        if new["leader"] == new["assistant_leader"]:
            new["assistant_leader" if "leader" in named else "leader"] = None
        return new

    def _name_leaders(self) -> None:
        """Both at once, so that leader and assistant leader can change places."""
        for label in self.named:
            rank = self._rank(label)
            for role, member in self._leaders(rank).items():
                setattr(rank, role, member)
            rank.save()

    def _free_labels_first(self, wanted: list[tuple[Record, Wanted]]) -> None:
        """Labels that change are taken off before any is written, so that two can change places;
        what goes by labels is told when all are written."""
        changing = [
            w.seat.spot for _, w in wanted if w.seat.spot and w.seat.spot.label != w.seat.text
        ]
        if not changing:
            return
        before = {spot.pk: spot.label for spot in changing}

        def free() -> None:
            Spot.objects.filter(pk__in=before).update(own_label="")

        self.result.lines.insert(0, Line(0, Action.SAME, "", (), free))
        self.result.after.append(lambda: tell_relabeled(self.season, before))

    def _vacate_first(self, wanted: list[tuple[Record, Wanted]]) -> None:
        """Holders who change leave their spots before anybody is seated."""
        leaving: dict[int, Spot] = {}
        for record, row in wanted:
            spot = row.seat.spot
            if spot is None or not record.has("holder"):
                continue
            if self.now.holders.get(spot.pk) not in (None, row.holder.pk if row.holder else None):
                leaving[spot.pk] = spot
        spots = {s.pk: s for s in self.spots.spots.values()}
        for record, row in wanted:
            spot = spots.get(self.now.held.get(row.holder.pk, 0)) if row.holder else None
            if spot is None or (plain(spot.rank.label), spot.number) in self.reader.seats:
                continue
            leaving[spot.pk] = spot
            change = FieldChange("holder", self.reader.names[self.now.holders[spot.pk]], "")
            self.result.lines.append(Line(record.number, Action.CHANGE, spot.label, (change,)))
        if leaving:
            on = self.reader.today()

            def vacate() -> None:
                for spot in leaving.values():
                    if open_holding(spot=spot):
                        vacate_spot(actor=self.actor, spot=spot, on=on)

            self.result.lines.insert(0, Line(0, Action.SAME, "", (), vacate))


def _yes_no(value: bool) -> str:
    return "yes" if value else "no"


KIND = register(
    ImportKind(
        "ranks",
        "Ranks and spots",
        "One row per spot, with its holder if there is one; or a grid of ranks and spots with "
        "names in its cells. Ranks are added as they are named; “Alt 1” for a spot makes an "
        "alternate.",
        COLUMNS,
        plan,
        order=3,
        layout=table_of,
    )
)
