"""Import of kinds: a row for each figure of a kind."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

from bandops.lib.accounts.models import User
from bandops.lib.imports.columns import too_long
from bandops.lib.imports.kinds import ImportKind, register
from bandops.lib.imports.plan import Action, Column, FieldChange, Line, Mapped, Plan, Record
from bandops.lib.imports.values import YES_NO, parse_list, parse_whole, parse_yes_no
from bandops.lib.names import clean_name, plain
from roster.equipment import queries
from roster.equipment.core.sizes import Band, Unit, parse_difference, parse_unit
from roster.equipment.entries import measure_of, read_bands, read_ease
from roster.equipment.enums import Measure, UnitChoice, Use
from roster.equipment.models import MOST_SPARES, Figure, Kind
from roster.equipment.rules import keeps_equipment
from roster.equipment.services.keeping import FigureWanted, save_kind
from roster.people.models import Instrument, Season

COLUMNS = (
    Column("kind", "kind", "Jacket, trousers, sousaphone …", True, ("piece", "type")),
    Column("use", "what it is", "uniform, instrument, accessory, guard or locker", False, ("use",)),
    Column("instruments", "needed by", "instruments, separated by semicolons; empty: everybody"),
    Column("figure", "figure", "chest, sleeve, waist, inseam, head, hand …; empty: one size"),
    Column("unit", "unit", "in, cm or number"),
    Column("ease", "larger by", "how much larger than the body, such as 2 to 4", False, ("ease",)),
    Column("bands", "named sizes", "S: 34-36; M: 36-38"),
    Column("let_out", "let out", "how far it can be let out"),
    Column("take_in", "take in", "how far it can be taken in"),
    Column("step", "from size to size", "the smallest difference between sizes"),
    Column("spares", "spares", "how many to keep in each size"),
    Column("handed", "left-handed", "yes if there are left-handed ones"),
    Column("on_truck", "on the truck", "yes if it goes along on the truck"),
)


@dataclass
class _Wanted:
    """What the rows of one kind say."""

    first: Record
    name: str
    values: dict[str, object] = field(default_factory=dict)
    instruments: list[Instrument] | None = None
    figures: list[FigureWanted] = field(default_factory=list)


def plan(mapped: Mapped, season: Season, actor: User) -> Plan:
    """Kinds by name. Rows of one kind are its figures, in their order."""
    result = Plan()
    there = {k.name_key: k for k in queries.kinds()}
    instruments = {plain(i.name): i for i in Instrument.objects.filter(season=season)}
    wanted: dict[str, _Wanted] = {}
    for record in mapped.records():
        before = len(result.faults)
        result.faults += too_long(record, {"kind": 60})
        name = clean_name(record["kind"])
        if not plain(name):
            result.faults.append(record.fault("kind", "The kind is missing."))
        if len(result.faults) > before:
            continue
        kind = wanted.setdefault(plain(name), _Wanted(record, name))
        _read(result, record, kind, instruments, mapped)
    for key, kind in wanted.items():
        result.lines.append(_line(kind, there.get(key), actor, len(there)))
    return result


def _read(
    result: Plan,
    record: Record,
    wanted: _Wanted,
    instruments: dict[str, Instrument],
    mapped: Mapped,
) -> None:
    uses = {plain(u.value): u for u in Use} | {plain(u.label): u for u in Use}
    if record["use"]:
        use = uses.get(plain(record["use"]))
        if use is None:
            names = ", ".join(u.value for u in Use)
            result.faults.append(record.fault("use", f"“{record['use']}” is none of: {names}."))
        else:
            wanted.values["use"] = use
    known = mapped.words.of(YES_NO.kind)
    for name in ("handed", "on_truck"):
        if record[name]:
            try:
                wanted.values[name] = parse_yes_no(record[name], False, known)
            except ValueError as error:
                result.faults.append(record.fault(name, error))
    if record["spares"]:
        try:
            wanted.values["spares"] = parse_whole(record["spares"], most=MOST_SPARES)
        except ValueError as error:
            result.faults.append(record.fault("spares", error))
    if record["instruments"]:
        wanted.instruments = []
        for text in parse_list(record["instruments"]):
            if plain(text) in instruments:
                wanted.instruments.append(instruments[plain(text)])
            else:
                result.faults.append(record.fault("instruments", f"No instrument “{text}”."))
    if record["figure"]:
        _read_figure(result, record, wanted)


def _read_figure(result: Plan, record: Record, wanted: _Wanted) -> None:
    column = "figure"
    try:
        measure = measure_of(record["figure"])
        column = "unit"
        unit = parse_unit(record["unit"]) or Unit.INCH
        if (unit is Unit.NUMBER) != (measure is Measure.FOOT):
            raise ValueError("Shoes have size numbers, and nothing else has.")
        column = "bands"
        bands: list[Band] = read_bands(record["bands"], unit)
        column = "ease"
        ease = read_ease(record["ease"], Unit.NUMBER if bands else unit)
        ticks = {}
        for column in ("let_out", "take_in", "step"):
            ticks[column] = max(0, parse_difference(record[column] or "0", unit))
    except ValueError as error:
        result.faults.append(record.fault(column, error))
        return
    figure = Figure(
        measure=measure,
        unit=UnitChoice(unit.value),
        ease_from=ease[0] // 2 if bands else ease[0],
        ease_to=ease[1] // 2 if bands else ease[1],
        let_out=ticks["let_out"],
        take_in=ticks["take_in"],
        step=ticks["step"] or 16,
    )
    if any(w.figure.measure == measure for w in wanted.figures):
        result.faults.append(record.fault("figure", f"The {measure.label} comes twice."))
    wanted.figures.append(FigureWanted(figure, tuple(bands)))


def _line(wanted: _Wanted, old: Kind | None, actor: User, count: int) -> Line:
    changes = _changes(wanted, old) if old is not None else []
    action = Action.ADD if old is None else Action.CHANGE if changes else Action.SAME

    def do() -> None:
        if action is Action.SAME:
            return
        kind = old or Kind(order=count + wanted.first.number)
        kind.name = wanted.name
        for name, value in wanted.values.items():
            setattr(kind, name, value)
        save_kind(
            actor=actor,
            kind=kind,
            figures=wanted.figures if wanted.figures or old is None else None,
            instruments=wanted.instruments,
        )

    return Line(wanted.first.number, action, wanted.name, tuple(changes), do)


def _changes(wanted: _Wanted, old: Kind) -> list[FieldChange]:
    found = [
        FieldChange(name.replace("_", " "), str(getattr(old, name)), str(value))
        for name, value in wanted.values.items()
        if getattr(old, name) != value
    ]
    if wanted.instruments is not None:
        now = sorted(i.name for i in old.instruments.all())
        then = sorted(i.name for i in wanted.instruments)
        if now != then:
            found.append(FieldChange("needed by", ", ".join(now), ", ".join(then)))
    if wanted.figures:
        then_figures = [_said(w.figure, w.bands) for w in wanted.figures]
        now_figures = [_said(f, queries.core_bands(f)) for f in old.figures.all()]
        if now_figures != then_figures:
            words = [", ".join(w.figure.measure for w in wanted.figures)]
            found.append(
                FieldChange("figures", ", ".join(f.measure for f in old.figures.all()), *words)
            )
    return found


def _said(figure: Figure, bands: Sequence[Band]) -> tuple[object, ...]:
    names = ("measure", "unit", "ease_from", "ease_to", "let_out", "take_in", "step")
    return (*(str(getattr(figure, n)) for n in names), *bands)


KIND = register(
    ImportKind(
        "equipment-kinds",
        "Kinds of equipment",
        "One row per figure of a kind; a kind of one size has one row.",
        COLUMNS,
        plan,
        order=31,
        guessed=False,
        allowed=keeps_equipment,
    )
)
