"""Import of instruments and parts."""

from __future__ import annotations

from django.utils.text import slugify

from bandops.lib.accounts.models import User
from bandops.lib.imports.columns import too_long
from bandops.lib.imports.kinds import ImportKind, register
from bandops.lib.imports.plan import Action, Column, FieldChange, Line, Mapped, Plan, Record
from bandops.lib.imports.values import parse_whole
from bandops.lib.names import clean_name, plain
from roster.people.models import MOST_STOCK, Instrument, Part, Season

COLUMNS = (
    Column(
        "instrument",
        "instrument",
        "Trumpet, flags …",
        True,
        ("section", "kind", "instr", "inst", "instruments"),
    ),
    Column(
        "part", "part", "Trumpet 2; the instrument's name when empty", False, ("part name", "parts")
    ),
    Column("code", "code", "short name in other files; made from the part when empty"),
    Column(
        "stock",
        "school instruments",
        "how many of the school's are ready to hand out; empty: players own theirs",
        False,
        ("stock", "school owned", "count", "qty", "quantity", "how many"),
    ),
)


LONGEST = {"instrument": 60, "part": 60}
LONGEST_CODE = 40


def plan(mapped: Mapped, season: Season, actor: User) -> Plan:
    """Parts by code; instruments by name. What the file does not name stays."""
    result = Plan()
    instruments = {plain(i.name): i for i in Instrument.objects.filter(season=season)}
    parts = {p.code: p for p in Part.objects.filter(season=season).select_related("instrument")}
    stocks = _stocks(result, mapped)
    seen: dict[str, int] = {}
    for record in mapped.records():
        named = _named(result, record, seen)
        if named is None:
            continue
        name, part_name, code = named
        instrument = instruments.setdefault(
            plain(name), Instrument(season=season, name=name, order=len(instruments))
        )
        stock = stocks.get(plain(name))
        result.lines.append(_line(record, instrument, parts.get(code), part_name, code, stock))
    return result


def _named(result: Plan, record: Record, seen: dict[str, int]) -> tuple[str, str, str] | None:
    """Instrument, part and code of a row; None when one is at fault."""
    faults = list(too_long(record, LONGEST))
    name = clean_name(record["instrument"])
    if not plain(name):
        faults.append(record.fault("instrument", "The instrument is missing."))
    part_name = clean_name(record["part"]) or name
    code = slugify(record["code"] or part_name)
    if not code:
        faults.append(record.fault("code", "The code is missing."))
    elif len(code) > LONGEST_CODE:
        faults.append(record.fault("code", f"“{code}” is longer than {LONGEST_CODE} characters."))
    elif code in seen:
        message = f"The code “{code}” comes twice, first in row {seen[code]}."
        faults.append(record.fault("code", message))
    seen.setdefault(code, record.number)
    result.faults += faults
    return None if faults else (name, part_name, code)


def _stocks(result: Plan, mapped: Mapped) -> dict[str, int]:
    """The school's instruments: one number an instrument, in any or all of its rows."""
    found: dict[str, tuple[int, int]] = {}
    for record in mapped.records():
        if not record["stock"]:
            continue
        try:
            stock = parse_whole(record["stock"], most=MOST_STOCK)
        except ValueError as error:
            result.faults.append(record.fault("stock", error))
            continue
        first, row = found.setdefault(plain(record["instrument"]), (stock, record.number))
        if stock != first:
            message = f"{record['instrument']} has {first} in row {row}."
            result.faults.append(record.fault("stock", message))
    return {name: stock for name, (stock, _) in found.items()}


def _line(
    record: Record,
    instrument: Instrument,
    part: Part | None,
    part_name: str,
    code: str,
    stock: int | None,
) -> Line:
    changes = []
    if part and part.name != part_name:
        changes.append(FieldChange("part", part.name, part_name))
    if part and part.instrument.name != instrument.name:
        changes.append(FieldChange("instrument", part.instrument.name, instrument.name))
    if part and record.has("stock") and part.instrument.school_stock != stock:
        old = part.instrument.school_stock
        changes.append(FieldChange("school instruments", _text(old), _text(stock)))
    action = Action.ADD if part is None else Action.CHANGE if changes else Action.SAME

    def do() -> None:
        if action is Action.SAME:
            return
        if record.has("stock"):
            instrument.school_stock = stock
        instrument.save()
        target = part or Part(season=instrument.season, code=code, order=record.number)
        target.instrument, target.name = instrument, part_name
        target.full_clean()
        target.save()

    return Line(record.number, action, part_name, tuple(changes), do)


def _text(stock: int | None) -> str:
    return "" if stock is None else str(stock)


KIND = register(
    ImportKind(
        "instruments",
        "Instruments and parts",
        "One row per part. Flags and drum majors are parts too.",
        COLUMNS,
        plan,
        order=1,
    )
)
