"""How sizes are read where people write them: in forms and in files."""

from __future__ import annotations

import re
from collections.abc import Mapping
from fractions import Fraction

from bandops.lib.names import plain
from roster.equipment.core.sizes import (
    CM_OF_INCH,
    TICKS,
    BadSize,
    Band,
    Size,
    Unit,
    parse_difference,
    parse_size,
)
from roster.equipment.enums import USUAL, Measure
from roster.equipment.models import Band as NamedSize
from roster.equipment.models import Figure, Kind

TO = re.compile(r"\s+to\s+|\s*(?:–|…|\.\.)\s*")
BAND = re.compile(r"(?P<name>[^:=]+?)\s*[:=]\s*(?P<low>.+?)\s*(?:to|-|–)\s*(?P<high>[^-–]+)")
MEASURES = {plain(m.label): m for m in Measure} | {plain(m.value): m for m in Measure}
MORE = {"shoe": Measure.FOOT, "shoes": Measure.FOOT, "hat": Measure.HEAD, "bust": Measure.CHEST}


def measure_of(text: str) -> Measure:
    """The measure that a word names; ValueError for another one."""
    word = plain(text)
    found = MEASURES.get(word) or MORE.get(word)
    if found is None:
        names = ", ".join(m.label for m in Measure)
        raise ValueError(f"“{text.strip()}” is none of: {names}.")
    return found


def read_measurement(measure: Measure, text: str, unit: Unit) -> Size:
    """What was measured of a person; BadSize where it can hardly be meant."""
    size = parse_size(text, unit)
    low, high = (Fraction(end) for end in USUAL[measure])
    if unit is Unit.CM:
        low, high = low * CM_OF_INCH, high * CM_OF_INCH
    if not low <= Fraction(size.ticks, TICKS[unit]) <= high:
        raise BadSize(f"{size} can hardly be meant: look at the point and at the unit.")
    return size


def read_ease(text: str, unit: Unit) -> tuple[int, int]:
    """'2 to 4': how much larger than the body a piece may be, from and to; one number is both.
    BadSize for anything else."""
    if not text.strip():
        return 0, 0
    parts = [parse_difference(part, unit) for part in TO.split(text.strip())]
    low, high = (parts[0], parts[0]) if len(parts) == 1 else (parts[0], parts[-1])
    if len(parts) > 2 or low > high:
        raise BadSize(f"“{text.strip()}” is no range: write it as “2 to 4”.")
    return low, high


def read_bands(text: str, unit: Unit) -> list[Band]:
    """'S: 34-36; M: 36-38': named sizes, each from its first number up to, but not with, its
    second. BadSize for anything else."""
    found = []
    for part in filter(None, (p.strip() for p in re.split(r"[;\n]", text))):
        match = BAND.fullmatch(part)
        if match is None:
            raise BadSize(f"“{part}” is no named size: write it as “M: 36-38”.")
        low, high = (parse_size(match[name], unit).ticks for name in ("low", "high"))
        found.append(Band(match["name"].strip()[:20], low, high))
    return found


def bands_text(figure: Figure) -> str:
    """Named sizes as they are written."""
    return "; ".join(
        f"{b.name}: {_number(figure, b.low)}-{_number(figure, b.high)}" for b in figure.bands.all()
    )


def ease_text(figure: Figure) -> str:
    """An ease as it is written."""
    if list(figure.bands.all()):
        low, high = str(figure.ease_from), str(figure.ease_to)
    else:
        low, high = (_number(figure, ticks) for ticks in (figure.ease_from, figure.ease_to))
    return low if low == high else f"{low} to {high}"


def _number(figure: Figure, ticks: int) -> str:
    return figure.words(ticks).removesuffix(" in").removesuffix(" cm")


def number_text(figure: Figure, ticks: int) -> str:
    """Ticks as they are written without the unit."""
    return _number(figure, ticks)


def read_value(figure: Figure, text: str) -> int | NamedSize:
    """An item's size in one figure: a named size where it has some, else a number.
    BadSize for neither."""
    bands = list(figure.bands.all())
    if not bands:
        return parse_size(text, Unit(figure.unit)).ticks
    for band in bands:
        if plain(band.name) == plain(text):
            return band
    names = ", ".join(b.name for b in bands)
    raise BadSize(f"“{text.strip()}” is none of the sizes {names}.")


def kinds_by_name(kinds: list[Kind]) -> Mapping[str, Kind]:
    """Kinds by their plain names."""
    return {kind.name_key: kind for kind in kinds}


def kind_rows(kind: Kind) -> list[tuple[object, ...]]:
    """A kind as its import reads it, a row a figure."""
    needed = "; ".join(i.name for i in kind.instruments.all())
    more = (kind.spares, "yes" if kind.handed else "no", "yes" if kind.on_truck else "no")
    first = (kind.name, kind.use, needed)
    rows: list[tuple[object, ...]] = [
        (
            *(*first, f.measure, f.unit, ease_text(f), bands_text(f)),
            *(number_text(f, ticks) for ticks in (f.let_out, f.take_in, f.step)),
            *more,
        )
        for f in kind.figures.all()
    ]
    return rows or [(*first, "", "", "", "", "", "", "", *more)]
