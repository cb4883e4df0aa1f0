"""Import of covers and of practice on other spots."""

from __future__ import annotations

from typing import Any

from bandops.lib.accounts.models import User
from bandops.lib.imports.kinds import ImportKind, register
from bandops.lib.imports.plan import Action, Column, FieldChange, Line, Mapped, Plan, Record
from bandops.lib.imports.values import parse_whole
from bandops.lib.names import plain
from drill.models import Cover, Practice, Show
from roster.imports.lookup import MemberIndex, SpotIndex
from roster.models import Season

COVER_COLUMNS = (
    Column("spot", "spot", "such as 4-11", True),
    Column("order", "order", "1 is the first cover", True, ("cover",)),
    Column("member", "member", "student number, e-mail or name", True, ("name",)),
)
PRACTICE_COLUMNS = (
    Column("member", "member", "student number, e-mail or name", True, ("name",)),
    Column("spot", "spot", "such as 4-11", True),
    Column("show", "show", "", True),
    Column("sets", "sets practised", "how many sets of the show", True, ("sets",)),
)


class _Reader:
    """Reads the cells both kinds share and collects the faults."""

    def __init__(self, season: Season) -> None:
        self.members, self.spots = MemberIndex(season), SpotIndex(season)
        self.shows = {plain(s.name): s for s in Show.objects.filter(season=season)}
        self.result = Plan()

    def member(self, record: Record) -> Any:
        return self.attempt(record, "member", lambda: self.members.find(record["member"]))

    def spot(self, record: Record) -> Any:
        return self.attempt(record, "spot", lambda: self.spots.find(record.cell("spot")))

    def show(self, record: Record) -> Any:
        show = self.shows.get(plain(record["show"]))
        if show is None:
            message = f"No show “{record['show']}” this season."
            self.result.faults.append(record.fault("show", message))
        return show

    def attempt(self, record: Record, key: str, find: Any) -> Any:
        try:
            return find()
        except ValueError as error:
            self.result.faults.append(record.fault(key, str(error)))
            return None

    def add(self, record: Record, label: str, row: Any, name: str, value: int) -> None:
        """A line for a row made (pk None) or found, whose ``name`` becomes ``value``."""
        old = None if row.pk is None else getattr(row, name)
        changes = () if old in (None, value) else (FieldChange(name, str(old), str(value)),)
        action = Action.ADD if old is None else Action.CHANGE if changes else Action.SAME

        def do() -> None:
            setattr(row, name, value)
            row.full_clean(validate_constraints=False)
            row.save()

        self.result.lines.append(Line(record.number, action, label, changes, do))


def plan_covers(mapped: Mapped, season: Season, actor: User) -> Plan:
    """Covers of the spots the file names are replaced by the file's."""
    reader = _Reader(season)
    seen: set[tuple[int, int]] = set()
    named: dict[int, set[tuple[int, int]]] = {}
    now = {(c.spot_id, c.member_id): c for c in Cover.objects.filter(spot__rank__season=season)}
    for record in mapped.records():
        member, spot = reader.member(record), reader.spot(record)
        order = reader.attempt(record, "order", lambda r=record: parse_whole(r["order"], least=1))
        if member is None or spot is None or order is None:
            continue
        pair = (spot.pk, member.pk)
        if pair in seen or any(o == order for _, o in named.get(spot.pk, ())):
            message = f"{spot} already has this cover or a cover of order {order}."
            reader.result.faults.append(record.fault("order", message))
            continue
        seen.add(pair)
        named.setdefault(spot.pk, set()).add((member.pk, order))
        old = now.get(pair)
        same = old is not None and old.order == order
        action = Action.SAME if same else Action.CHANGE if old else Action.ADD
        label = f"{member} covers {spot}, {order}"
        reader.result.lines.append(Line(record.number, action, label))
    before = {
        spot: {(c.member_id, c.order) for c in now.values() if c.spot_id == spot} for spot in named
    }
    changed = {spot: rows for spot, rows in named.items() if rows != before[spot]}

    def write() -> None:
        Cover.objects.filter(spot_id__in=changed).delete()
        Cover.objects.bulk_create(
            Cover(spot_id=spot, member_id=m, order=o)
            for spot, rows in changed.items()
            for m, o in rows
        )

    reader.result.after.append(write)
    return reader.result


def plan_practice(mapped: Mapped, season: Season, actor: User) -> Plan:
    """Sets practised, by member, spot and show."""
    reader = _Reader(season)
    now = {
        (p.member_id, p.spot_id, p.show_id): p
        for p in Practice.objects.filter(member__season=season)
    }
    for record in mapped.records():
        member, spot, show = reader.member(record), reader.spot(record), reader.show(record)
        sets = reader.attempt(record, "sets", lambda r=record: parse_whole(r["sets"]))
        if member is None or spot is None or show is None or sets is None:
            continue
        row = now.setdefault(
            (member.pk, spot.pk, show.pk), Practice(member=member, spot=spot, show=show)
        )
        reader.add(record, f"{member} on {spot}, {show}: {sets} sets", row, "sets", sets)
    return reader.result


COVERS = register(
    ImportKind(
        "covers",
        "Covers",
        "Who is named in readiness for a spot.",
        COVER_COLUMNS,
        plan_covers,
        order=8,
    )
)
PRACTICE = register(
    ImportKind(
        "practice",
        "Practice",
        "How many sets members have practised on spots they do not hold.",
        PRACTICE_COLUMNS,
        plan_practice,
        order=9,
    )
)
