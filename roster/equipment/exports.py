"""Kinds, items, measurements and what is out as tables, in the columns that come in."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Sequence
from functools import partial

from bandops.lib.exports.kinds import Export, Rows, add_export, yes_no
from roster.equipment import queries
from roster.equipment.core.sizes import Unit
from roster.equipment.entries import kind_rows, number_text
from roster.equipment.enums import Measure
from roster.equipment.models import Item, Measurement
from roster.equipment.rules import keeps_equipment
from roster.people.models import Person, Season

Called = Callable[[Person], str]


def by_number(person: Person) -> str:
    """What the imports find a person by for certain."""
    return person.student_number or person.name


def by_name(person: Person) -> str:
    return person.name


KIND_HEADERS = (
    *("kind", "what it is", "needed by", "figure", "unit", "larger by", "named sizes", "let out"),
    *("take in", "from size to size", "spares", "left-handed", "on the truck"),
)


def _kinds(season: Season) -> tuple[Sequence[str], Rows]:
    return KIND_HEADERS, [row for kind in queries.kinds() for row in kind_rows(kind)]


ITEM_HEADERS = (
    *("tag", "kind", *(m.label for m in Measure), "condition", "left-handed", "kept at"),
    *("part of", "note", "state", "with"),
)


def _items(season: Season) -> tuple[Sequence[str], Rows]:
    return ITEM_HEADERS, [_item(i) for i in queries.items()]


def _item(item: Item) -> Sequence[object]:
    sizes = {
        s.figure.measure: s.band.name if s.band else number_text(s.figure, s.ticks or 0)
        for s in item.sizes.all()
    }
    out = next((str(issue.member) for issue in item.out), "")  # type: ignore[attr-defined]
    return (
        *(item.tag, item.kind.name, *(sizes.get(m, "") for m in Measure)),
        *(item.get_condition_display(), yes_no(item.left_handed), item.place),
        *(item.part_of.tag if item.part_of else "", item.note, item.state, out),
    )


def _measurements(season: Season, call: Called = by_number) -> tuple[Sequence[str], Rows]:
    rows: dict[tuple[str, int, str, object], dict[str, str]] = defaultdict(dict)
    found = Measurement.objects.filter(person__memberships__season=season, converted=False)
    for row in found.select_related("person").order_by("person__sort_key", "taken_on", "id"):
        unit = row.unit
        if unit == Unit.NUMBER:
            lengths = [k[2] for k in rows if k[1] == row.person_id and k[3] == row.taken_on]
            unit = lengths[-1] if lengths else Unit.INCH
        who = call(row.person)
        value = row.words.removesuffix(" in").removesuffix(" cm")
        rows[who, row.person_id, unit, row.taken_on][row.measure] = value
    headers = ("member", "unit", "measured on", *(m.label for m in Measure))
    return headers, [
        (who, unit, day, *(of.get(m, "") for m in Measure))
        for (who, _, unit, day), of in rows.items()
    ]


def _issues(season: Season, call: Called = by_number) -> tuple[Sequence[str], Rows]:
    return ("tag", "member", "kind", "since"), [
        (i.item.tag, call(i.member.person), i.item.kind.name, i.issued_at)
        for i in queries.open_issues()
    ]


add_export(Export("equipment-kinds", "Kinds of equipment", _kinds, 31, allowed=keeps_equipment))
add_export(
    Export("equipment-items", "Uniforms and instruments", _items, 32, allowed=keeps_equipment)
)
add_export(
    Export(
        "measurements",
        "Measurements",
        _measurements,
        33,
        private="measurements",
        table=Measurement._meta.db_table,
        allowed=keeps_equipment,
        by_name=partial(_measurements, call=by_name),
    )
)
add_export(
    Export(
        "issues",
        "Who has what",
        _issues,
        34,
        allowed=keeps_equipment,
        by_name=partial(_issues, call=by_name),
    )
)
