"""Import of measurements: a row for each member, in one unit a row."""

from __future__ import annotations

import uuid
from collections.abc import Collection

from bandops.lib.accounts.models import User
from bandops.lib.imports.kinds import ImportKind, register
from bandops.lib.imports.plan import Action, Column, Line, Mapped, Plan, Record
from bandops.lib.imports.values import parse_date
from roster.equipment.core.sizes import BadSize, Size, Unit, parse_unit
from roster.equipment.entries import read_measurement
from roster.equipment.enums import Measure
from roster.equipment.models import Measurement
from roster.equipment.rules import keeps_equipment
from roster.equipment.services.measuring import measure
from roster.people.lookup import MemberIndex
from roster.people.models import Member, Season

COLUMNS = (
    Column("member", "member", "name or student number", True, ("name", "student number")),
    Column("unit", "unit", "in or cm, for the whole row; never mixed", True, ("units",)),
    Column("on", "measured on", "the day; today where it is empty", False, ("date", "on")),
    *(Column(m.value, m.label, f"the {m.label}") for m in Measure),
)


def plan(mapped: Mapped, season: Season, actor: User) -> Plan:
    """What is newer is added; what is known already stays."""
    result = Plan()
    members = MemberIndex(season, mapped.words.of("member"))
    known = set(
        Measurement.objects.filter(person__memberships__season=season).values_list(
            "person", "measure", "ticks", "unit", "taken_on"
        )
    )
    for record in mapped.records():
        line = _line(result, record, members, season, actor, known)
        if line is not None:
            result.lines.append(line)
    return result


def _line(
    result: Plan,
    record: Record,
    members: MemberIndex,
    season: Season,
    actor: User,
    known: Collection[tuple[object, ...]],
) -> Line | None:
    column, before = "member", len(result.faults)
    member: Member | None = None
    try:
        member = members.find(record["member"])
        column = "on"
        day = parse_date(record["on"]) or season.today()
        column = "unit"
        unit = parse_unit(record["unit"])
    except ValueError as error:
        result.faults.append(record.fault(column, error))
        return None
    if unit not in (Unit.INCH, Unit.CM):
        result.faults.append(record.fault("unit", "Write in or cm."))
        return None
    sizes: dict[str, Size] = {}
    for name in Measure:
        if record[name.value]:
            try:
                asked = Unit.NUMBER if name is Measure.FOOT else unit
                sizes[name.value] = read_measurement(name, record[name.value], asked)
            except BadSize as error:
                result.faults.append(record.fault(name.value, error))
    if len(result.faults) > before:
        return None
    person = member.person
    new = {
        n: s for n, s in sizes.items() if (person.pk, n, s.ticks, s.unit.value, day) not in known
    }

    def do() -> None:
        if new:
            measure(actor=actor, person=person, sizes=new, day=day, key=uuid.uuid4())

    return Line(record.number, Action.ADD if new else Action.SAME, str(member), (), do)


KIND = register(
    ImportKind(
        "measurements",
        "Measurements",
        "One row per member. A cell that names another unit than its row is refused.",
        COLUMNS,
        plan,
        order=33,
        guessed=False,
        allowed=keeps_equipment,
    )
)
