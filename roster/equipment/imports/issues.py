"""Import of who has what: a row for each item that is with a member."""

from __future__ import annotations

from bandops.lib.accounts.models import User
from bandops.lib.imports.kinds import ImportKind, register
from bandops.lib.imports.plan import Action, Column, Line, Mapped, Plan, Record
from roster.equipment import queries
from roster.equipment.models import Issue, Item
from roster.equipment.models.items import tag_key
from roster.equipment.rules import keeps_equipment
from roster.equipment.services.issuing import hand_out
from roster.people.lookup import MemberIndex
from roster.people.models import Season

COLUMNS = (
    Column("tag", "tag", "the number on it", True, ("number", "item")),
    Column("member", "member", "name or student number", True, ("name", "student number")),
)


def plan(mapped: Mapped, season: Season, actor: User) -> Plan:
    """What is in store is handed out; what its member has already stays. Nothing is taken back."""
    result = Plan()
    members = MemberIndex(season, mapped.words.of("member"))
    items = {i.tag_key: i for i in queries.items()}
    out = {i.item_id: i for i in queries.open_issues()}
    seen: dict[str, int] = {}
    for record in mapped.records():
        line = _line(result, record, members, items, out, seen, actor)
        if line is not None:
            result.lines.append(line)
    return result


def _line(
    result: Plan,
    record: Record,
    members: MemberIndex,
    items: dict[str, Item],
    out: dict[int, Issue],
    seen: dict[str, int],
    actor: User,
) -> Line | None:
    key = tag_key(record["tag"])
    item = items.get(key)
    if item is None:
        result.faults.append(record.fault("tag", f"No item has the tag “{record['tag']}”."))
        return None
    if key in seen:
        result.faults.append(record.fault("tag", f"It comes twice, first in row {seen[key]}."))
        return None
    seen[key] = record.number
    try:
        member = members.find(record["member"])
    except ValueError as error:
        result.faults.append(record.fault("member", error))
        return None
    issue = out.get(item.pk)
    if issue is not None and issue.member.person_id != member.person_id:
        text = f"{item} is with {issue.member}: take it back first."
        result.faults.append(record.fault("member", text))
        return None
    action = Action.ADD if issue is None else Action.SAME

    def do() -> None:
        if action is Action.ADD:
            hand_out(actor=actor, item=item, member=member, condition=item.condition)

    return Line(record.number, action, f"{item}: {member}", (), do)


KIND = register(
    ImportKind(
        "issues",
        "Who has what",
        "One row per item that is with a member.",
        COLUMNS,
        plan,
        order=34,
        guessed=False,
        allowed=keeps_equipment,
    )
)
