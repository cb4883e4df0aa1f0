"""Import of alternates: rank, part and standing."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable
from typing import TypeVar

from bandops.lib.accounts.models import User
from bandops.lib.imports.kinds import ImportKind, register
from bandops.lib.imports.plan import Action, Column, FieldChange, Line, Mapped, Plan, Record
from bandops.lib.imports.values import parse_whole
from roster.imports.lookup import MemberIndex, PartIndex, SpotIndex
from roster.models import AlternatePlace, Holding, Member, Part, Qualification, Rank, Season

T = TypeVar("T")

COLUMNS = (
    Column(
        "member",
        "member",
        "student number, e-mail or name",
        True,
        ("name", "alternate", "student number"),
    ),
    Column("rank", "rank", "label of the rank", True),
    Column("part", "part", "code or name; their main part when empty", False, ("instrument",)),
    Column(
        "standing",
        "standing",
        "1, 2, … among the rank's alternates of the part; in file order when empty",
        False,
        ("order", "number"),
    ),
)


def plan(mapped: Mapped, season: Season, actor: User) -> Plan:
    """Alternates of the ranks and parts the file names get the file's standings; others stay."""
    result = Plan()
    members, parts, spots = MemberIndex(season), PartIndex(season), SpotIndex(season)
    qualified = Qualification.objects.filter(member__season=season)
    plays = {(q.member_id, q.part_id): q.main for q in qualified}
    holders = dict(
        Holding.objects.filter(spot__rank__season=season, ends__isnull=True).values_list(
            "member_id", "spot__rank__label"
        )
    )
    places = {p.member_id: p for p in AlternatePlace.objects.filter(rank__season=season)}
    groups: dict[tuple[Rank, Part], list[tuple[int, Record, Member]]] = defaultdict(list)
    seen: dict[int, int] = {}
    for record in mapped.records():
        member = _found(result, record, "member", members.find)
        rank = _found(result, record, "rank", spots.rank)
        if member is None or rank is None:
            continue
        part = _part(result, record, parts, member, plays)
        if part is None or not _fits(result, record, member, part, plays, holders, seen):
            continue
        try:
            standing = parse_whole(record["standing"], 0, least=0, most=99)
        except ValueError as error:
            result.faults.append(record.fault("standing", str(error)))
            continue
        group = groups[rank, part]
        if standing and any(s == standing for s, _, _ in group):
            result.faults.append(
                record.fault("standing", f"Standing {standing} comes twice for {rank}, {part}.")
            )
            continue
        group.append((standing or 1000 + record.number, record, member))
    for (rank, part), group in groups.items():
        _plan_group(result, rank, part, sorted(group, key=lambda g: g[0]), places)
    result.lines.sort(key=lambda line: line.row)
    return result


def _found(result: Plan, record: Record, key: str, find: Callable[[str], T]) -> T | None:
    try:
        return find(record[key])
    except ValueError as error:
        result.faults.append(record.fault(key, str(error)))
        return None


def _part(
    result: Plan,
    record: Record,
    parts: PartIndex,
    member: Member,
    plays: dict[tuple[int, int], bool],
) -> Part | None:
    if not record["part"]:
        main = next((p for (m, p), is_main in plays.items() if m == member.pk and is_main), None)
        return next((p for p in parts.parts if p.pk == main), None)
    return _found(result, record, "part", parts.find)


def _fits(
    result: Plan,
    record: Record,
    member: Member,
    part: Part,
    plays: dict[tuple[int, int], bool],
    holders: dict[int, str],
    seen: dict[int, int],
) -> bool:
    if member.pk in seen:
        message = f"{member} also stands in row {seen[member.pk]}."
    elif member.pk in holders:
        message = f"{member} holds a spot in rank {holders[member.pk]}: an alternate has none."
    elif (member.pk, part.pk) not in plays:
        message = f"{member} does not play {part}."
    else:
        seen[member.pk] = record.number
        return True
    result.faults.append(record.fault("member", message))
    return False


def _plan_group(
    result: Plan,
    rank: Rank,
    part: Part,
    group: list[tuple[int, Record, Member]],
    places: dict[int, AlternatePlace],
) -> None:
    named = {member.pk for _, _, member in group}
    behind = [
        p
        for p in sorted(places.values(), key=lambda p: p.standing or 0)
        if (p.rank_id, p.part_id) == (rank.pk, part.pk) and p.member_id not in named
    ]
    lines = []
    for standing, (_, record, member) in enumerate(group, start=1):
        place = places.get(member.pk)
        changes = []
        if place is not None:
            now = (place.rank_id, place.part_id, place.standing)
            if now != (rank.pk, part.pk, standing):
                changes.append(FieldChange("standing", str(place.standing), str(standing)))
        action = Action.ADD if place is None else Action.CHANGE if changes else Action.SAME
        label = f"{member}, {rank}, {part}, standing {standing}"
        lines.append(Line(record.number, action, label, tuple(changes)))
    result.lines += lines
    if all(line.action is Action.SAME for line in lines):
        return

    def write() -> None:
        AlternatePlace.objects.filter(member_id__in=named).delete()
        AlternatePlace.objects.filter(pk__in=[p.pk for p in behind]).update(standing=None)
        for standing, (_, _, member) in enumerate(group, start=1):
            AlternatePlace.objects.create(member=member, rank=rank, part=part, standing=standing)
        for standing, place in enumerate(behind, start=len(group) + 1):
            place.standing = standing
            place.save()

    result.after.append(write)


KIND = register(
    ImportKind(
        "alternates",
        "Alternates",
        "One row an alternate: a member without a spot of their own.",
        COLUMNS,
        plan,
        order=4,
    )
)
