"""Sizes as whole numbers: inches in sixteenths, centimetres in tenths, size numbers in halves.

A unit stays with its figure: inches and centimetres never meet without somebody saying so.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from enum import StrEnum
from fractions import Fraction
from itertools import pairwise


class Unit(StrEnum):
    """What a figure is measured in."""

    INCH = "in"
    CM = "cm"
    NUMBER = "number"


TICKS = {Unit.INCH: 16, Unit.CM: 10, Unit.NUMBER: 2}
"""parts of one unit that are told apart; 1/16 in is what ASTM D6240 asks of a tape"""
CM_OF_INCH = Fraction(254, 100)
MOST_DIFFERENCE = 1_000
"""ticks"""
MOST = 400
"""units of any figure"""
WORDS = {Unit.INCH: "inches", Unit.CM: "centimeters", Unit.NUMBER: "a size number"}
NAMES = {
    "": None,
    "in": Unit.INCH,
    "in.": Unit.INCH,
    "inch": Unit.INCH,
    "inches": Unit.INCH,
    '"': Unit.INCH,
    "″": Unit.INCH,
    "cm": Unit.CM,
    "centimeters": Unit.CM,
    "centimetres": Unit.CM,
    "number": Unit.NUMBER,
}
WRITTEN = re.compile(
    r"(?P<whole>\d+)?(?:[.,](?P<decimals>\d+))?(?:(?:^|[ -])(?P<top>\d+)/(?P<bottom>\d+))?"
    r" ?(?P<unit>[^\d ]*)"
)
VULGAR = {"¼": " 1/4", "½": " 1/2", "¾": " 3/4", "⅛": " 1/8", "⅜": " 3/8", "⅝": " 5/8", "⅞": " 7/8"}


class BadSize(ValueError):
    """A text that is no size, or not of the unit it should be."""


@dataclass(frozen=True, slots=True, order=True)
class Size:
    """A figure: ``ticks`` of its unit."""

    ticks: int
    unit: Unit

    def __str__(self) -> str:
        return written(self.ticks, self.unit)


def parse_size(text: str, unit: Unit) -> Size:
    """A size as people write it ("31 1/8", "40.5", "102 cm"), in the unit it is asked in.

    BadSize for a text that names another unit, is none, or is finer than the unit is told.
    """
    value, named = _read(text)
    if named is not None and named is not unit:
        raise BadSize(_other_unit(text, named, unit))
    ticks = value * TICKS[unit]
    if ticks.denominator != 1:
        raise BadSize(f"“{text.strip()}” is finer than {_finest(unit)}: write the nearest one.")
    if not 0 < ticks <= MOST * TICKS[unit]:
        raise BadSize(f"“{text.strip()}” is no size.")
    return Size(int(ticks), unit)


def parse_unit(text: str) -> Unit | None:
    """The unit that a word names; None for no word, BadSize for another one."""
    try:
        return NAMES[text.strip().lower()]
    except KeyError:
        raise BadSize(f"“{text.strip()}” is no unit: write in or cm.") from None


def _read(text: str) -> tuple[Fraction, Unit | None]:
    plain = text.strip()
    for sign, fraction in VULGAR.items():
        plain = plain.replace(sign, fraction)
    match = WRITTEN.fullmatch(re.sub(r" +", " ", plain).strip())
    if match is None or not (match["whole"] or match["top"]):
        raise BadSize(f"“{text.strip()}” is no size.")
    if match["top"] and (match["decimals"] or not int(match["bottom"])):
        raise BadSize(f"“{text.strip()}” is no size.")
    whole, decimals, top = match["whole"] or "", match["decimals"] or "", match["top"]
    value = Fraction(int(whole or 0)) + Fraction(int(decimals or 0), 10 ** len(decimals))
    if top:
        value += Fraction(int(top), int(match["bottom"]))
    return value, parse_unit(match["unit"])


def _other_unit(text: str, named: Unit, unit: Unit) -> str:
    verb = "is" if unit is Unit.NUMBER else "are"
    return f"“{text.strip()}” is in {WORDS[named]}; {WORDS[unit]} {verb} asked."


def _finest(unit: Unit) -> str:
    return {Unit.INCH: "1/16 in", Unit.CM: "1/10 cm", Unit.NUMBER: "half a size"}[unit]


def written(ticks: int, unit: Unit) -> str:
    """'31 1/8 in', '102.5 cm', '9 1/2'; also of differences."""
    sign, ticks = ("-" if ticks < 0 else ""), abs(ticks)
    whole, rest = divmod(ticks, TICKS[unit])
    if unit is Unit.CM:
        return f"{sign}{whole}{f'.{rest}' if rest else ''} cm"
    part = Fraction(rest, TICKS[unit])
    number = " ".join(str(x) for x in ((whole or None), (part or None)) if x is not None) or "0"
    return f"{sign}{number}{' in' if unit is Unit.INCH else ''}"


def converted(size: Size, unit: Unit) -> Size:
    """The same length in the other unit of length, to the nearest tick (halves upward).

    BadSize where either is no unit of length.
    """
    if size.unit is unit:
        return size
    if Unit.NUMBER in (size.unit, unit):
        raise BadSize("A size number is no length.")
    length = Fraction(size.ticks, TICKS[size.unit])
    other = length * CM_OF_INCH if unit is Unit.CM else length / CM_OF_INCH
    return Size(int(other * TICKS[unit] + Fraction(1, 2)), unit)


@dataclass(frozen=True, slots=True)
class Band:
    """A named size: bodies from ``low`` (inclusive) to ``high`` (exclusive), in ticks."""

    name: str
    low: int
    high: int


def faults_of(bands: Sequence[Band]) -> list[str]:
    """What is wrong with a table of bands: empty ones, and two that claim the same body. Gaps are
    no fault: between tables nobody has a size, and is fitted in person."""
    found = [f"{b.name} ends before it begins." for b in bands if b.low >= b.high]
    ordered = sorted(bands, key=lambda b: b.low)
    for before, after in pairwise(ordered):
        if after.low < before.high:
            found.append(f"{before.name} and {after.name} overlap.")
    return found


def band_of(bands: Iterable[Band], ticks: int) -> Band | None:
    """The one band of a body; on a boundary the larger. None between or beyond the tables:
    measure and fit in person."""
    return next((b for b in bands if b.low <= ticks < b.high), None)


def around(designations: Sequence[int]) -> tuple[Band, ...]:
    """Bands of sizes that are named by their middle, from midpoint to midpoint (as EN 13402-3
    says of its designations); the outer ones are as wide as their inner half. ``designations``
    in ticks that leave whole midpoints, ascending, two at least."""
    gaps = [b - a for a, b in pairwise(designations)]
    halves = [gaps[0], *gaps, gaps[-1]]
    return tuple(
        Band(str(middle), middle - halves[n] // 2, middle + halves[n + 1] // 2)
        for n, middle in enumerate(designations)
    )


def parse_difference(text: str, unit: Unit) -> int:
    """Ticks of a difference ("1/2", "-1", "0"); BadSize as for sizes."""
    plain = text.strip().replace("−", "-")
    if plain.startswith("-"):
        return -parse_difference(plain[1:], unit)
    value, named = _read(plain)
    if named is not None and named is not unit:
        raise BadSize(_other_unit(text, named, unit))
    ticks = value * TICKS[unit]
    if ticks.denominator != 1:
        raise BadSize(f"“{text.strip()}” is finer than {_finest(unit)}: write the nearest one.")
    if ticks > MOST_DIFFERENCE:
        raise BadSize(f"“{text.strip()}” is too large a difference.")
    return int(ticks)
