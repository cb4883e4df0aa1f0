"""Import of items: a row each, with a column for each figure its kind has."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

from bandops.lib.accounts.models import User
from bandops.lib.imports.columns import too_long
from bandops.lib.imports.kinds import ImportKind, register
from bandops.lib.imports.plan import Action, Column, Fault, FieldChange, Line, Mapped, Plan, Record
from bandops.lib.imports.values import YES_NO, parse_yes_no
from bandops.lib.names import plain
from roster.equipment import queries
from roster.equipment.core.sizes import BadSize
from roster.equipment.entries import read_value
from roster.equipment.enums import Condition, Measure
from roster.equipment.models import Band, Figure, Item, Kind
from roster.equipment.models.items import tag_key
from roster.equipment.rules import keeps_equipment
from roster.equipment.services.keeping import SizeValue, save_item
from roster.people.models import Season

MEASURES = tuple(m.value for m in Measure)
COLUMNS = (
    Column("tag", "tag", "the number on it", True, ("number", "no", "id", "barcode")),
    Column("kind", "kind", "jacket, trousers …", True, ("piece", "type")),
    *(Column(m.value, m.label, f"its {m.label}") for m in Measure),
    Column("condition", "condition", "new, good, worn or poor"),
    Column("left_handed", "left-handed", "yes or no"),
    Column("place", "kept at", "where it is kept", False, ("place", "location", "shelf")),
    Column("part_of", "part of", "the tag of what it belongs to", False, ("belongs to",)),
    Column("note", "note", "anything else"),
)
LONGEST = {"tag": 30, "place": 60, "note": 200}


@dataclass
class _Wanted:
    """What one row says."""

    record: Record
    kind: Kind
    values: dict[str, Any] = field(default_factory=dict)
    sizes: dict[Figure, SizeValue] = field(default_factory=dict)
    whole: str = ""


def plan(mapped: Mapped, season: Season, actor: User) -> Plan:
    """Items by tag. Columns the file does not have stay as they are."""
    return _Planner(mapped, actor).plan()


class _Planner:
    def __init__(self, mapped: Mapped, actor: User) -> None:
        self.mapped, self.actor, self.result = mapped, actor, Plan()
        self.kinds = {k.name_key: k for k in queries.kinds()}
        self.items = {i.tag_key: i for i in queries.items()}
        self.yes_no = mapped.words.of(YES_NO.kind)
        self.seen: dict[str, int] = {}

    def plan(self) -> Plan:
        if not self.kinds:
            message = "There are no kinds yet: add them, or import them first."
            return Plan(faults=[Fault(0, "kind", message)])
        rows = [w for r in self.mapped.records() if (w := self._read(r)) is not None]
        names = set(self.items) | {tag_key(w.record["tag"]) for w in rows}
        for wanted in rows:
            if wanted.whole and tag_key(wanted.whole) not in names:
                text = f"No item has the tag “{wanted.whole}”."
                self.result.faults.append(wanted.record.fault("part_of", text))
        self.result.lines += [self._line(w) for w in sorted(rows, key=lambda w: bool(w.whole))]
        return self.result

    def _read(self, record: Record) -> _Wanted | None:
        before = len(self.result.faults)
        self.result.faults += too_long(record, LONGEST)
        key = tag_key(record["tag"])
        if not key:
            self._fault(record, "tag", "The tag is missing.")
        elif key in self.seen:
            self._fault(record, "tag", f"The tag comes twice, first in row {self.seen[key]}.")
        self.seen.setdefault(key, record.number)
        kind = self.kinds.get(plain(record["kind"]))
        if kind is None:
            self._fault(record, "kind", f"No kind “{record['kind']}”: add it first.")
            return None
        old = self.items.get(key)
        if old is not None and old.kind_id != kind.pk:
            self._fault(record, "tag", f"“{old.tag}” is the tag of another item ({old.kind}).")
        wanted = _Wanted(record, kind, {"tag": record["tag"]}, {}, record["part_of"])
        self._values(record, wanted)
        self._sizes(record, wanted)
        return wanted if len(self.result.faults) == before else None

    def _fault(self, record: Record, column: str, problem: str | ValueError) -> None:
        self.result.faults.append(record.fault(column, problem))

    def _values(self, record: Record, wanted: _Wanted) -> None:
        for name in ("place", "note"):
            if record.has(name):
                wanted.values[name] = record[name]
        if record["condition"]:
            names = {plain(c.label): c for c in Condition}
            found = names.get(plain(record["condition"]))
            if found is None:
                text = f"“{record['condition']}” is none of: {', '.join(Condition.labels)}."
                self._fault(record, "condition", text)
            else:
                wanted.values["condition"] = int(found)
        if record["left_handed"]:
            try:
                told = parse_yes_no(record["left_handed"], False, self.yes_no)
                wanted.values["left_handed"] = told
            except ValueError as error:
                self._fault(record, "left_handed", error)

    def _sizes(self, record: Record, wanted: _Wanted) -> None:
        figures = {f.measure: f for f in wanted.kind.figures.all()}
        for name in MEASURES:
            text = record[name]
            if not text:
                continue
            if name not in figures:
                self._fault(record, name, f"{wanted.kind} has no {Measure(name).label}.")
                continue
            try:
                wanted.sizes[figures[name]] = read_value(figures[name], text)
            except BadSize as error:
                self._fault(record, name, error)

    def _line(self, wanted: _Wanted) -> Line:
        old = self.items.get(tag_key(wanted.record["tag"]))
        changes = [] if old is None else _changes(old, wanted)
        action = Action.ADD if old is None else Action.CHANGE if changes else Action.SAME

        def do() -> None:
            if action is Action.SAME:
                return
            item = old or Item(kind=wanted.kind)
            for name, value in wanted.values.items():
                setattr(item, name, value)
            if wanted.whole:
                item.part_of = Item.objects.get(tag_key=tag_key(wanted.whole))
            save_item(actor=self.actor, item=item, sizes=wanted.sizes)

        return Line(wanted.record.number, action, wanted.record["tag"], tuple(changes), do)


def _changes(old: Item, wanted: _Wanted) -> list[FieldChange]:
    found = [
        FieldChange(name.replace("_", " "), str(getattr(old, name)), str(value))
        for name, value in wanted.values.items()
        if getattr(old, name) != value
    ]
    now = {s.figure_id: s for s in old.sizes.all()}
    for figure, value in wanted.sizes.items():
        size = now.get(figure.pk)
        before = None if size is None else size.band or size.ticks
        if before != value:
            name = str(figure.get_measure_display())
            then = value.name if isinstance(value, Band) else figure.words(value)
            found.append(FieldChange(name, "" if size is None else size.words, then))
    if wanted.whole and (old.part_of is None or old.part_of.tag_key != tag_key(wanted.whole)):
        found.append(FieldChange("part of", str(old.part_of or ""), wanted.whole))
    return found


KIND = register(
    ImportKind(
        "equipment-items",
        "Uniforms and instruments",
        "One row per numbered item. Where it is and who has it is not changed by this.",
        COLUMNS,
        plan,
        order=32,
        guessed=False,
        allowed=keeps_equipment,
    )
)
