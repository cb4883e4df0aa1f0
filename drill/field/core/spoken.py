"""The spoken form of a coordinate: "side 1, 3.5 outside the 40, 6 behind the front hash".

Sides are those of whoever looks: side 1 is the left and side 2 the right, from the press box or,
with ``Style.from_field``, of a marcher who faces it, so that the two views swap them. Front is
always towards the press box. The words are common practice, no source.

Lengths are in 1/32 inch unless said otherwise. ``Style.rounded`` is the 84-step display: the
field is 84 steps deep and each hash stands on a whole step from its own sideline (28 or 32 on the
two commonest fields; common practice, no source). Between its marks the display is stretched
evenly, so its steps are not exactly 22.5 inches; words of one display are read in that display.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

from drill.field.core import spoken_reading as reading
from drill.field.core.field import (
    FIELD_WIDTH,
    UNITS_PER_INCH,
    UNITS_PER_STEP,
    UNITS_PER_YARD,
    FieldType,
)

ROUNDED_DEPTH = 84
"""steps from sideline to sideline in the rounded display"""
FARTHEST = 400 * UNITS_PER_STEP
"""words may name a coordinate off the field, but not one so far from it"""
MARKS = ("front sideline", "front hash", "back hash", "back sideline")


@dataclass(frozen=True, slots=True)
class Style:
    """How coordinates are written: whose sides, how finely, and whether depth is the 84-step
    display."""

    from_field: bool = False
    sixteenths: bool = False
    rounded: bool = False

    @property
    def grain(self) -> int:
        """The smallest distance that is written: a quarter of a step, or a sixteenth."""
        return UNITS_PER_STEP // (16 if self.sixteenths else 4)


USUAL = Style()


@dataclass(frozen=True, slots=True)
class Offset:
    """How far a coordinate is from a mark of the field, in steps; positive is behind it."""

    mark: str
    steps: Fraction


def across_words(x: int, style: Style = USUAL) -> str:
    """Side and yard line. A coordinate midway between two lines is written from the one nearer the
    50; one in an end zone from the goal line."""
    seen = -x if style.from_field else x
    five = 5 * UNITS_PER_YARD // style.grain
    from_50 = round(Fraction(abs(seen), style.grain))
    line = min(-((five - 2 * from_50) // (2 * five)), 10)
    grains = from_50 - line * five
    if line == 0 and grains == 0:
        return "on the 50"
    side = f"side {2 if seen > 0 else 1}"
    name = "the goal line" if line == 10 else f"the {50 - 5 * line}"
    if grains == 0:
        return f"{side}, on {name}"
    return f"{side}, {_amount(grains, style)} {'outside' if grains > 0 else 'inside'} {name}"


def depth_words(y: int, kind: FieldType, style: Style = USUAL) -> str:
    """Steps in front of or behind the nearest sideline or hash."""
    mark, behind = _from_nearest(y, kind, style)
    grains = round(Fraction(behind, style.grain))
    if grains == 0:
        return f"on the {mark}"
    return f"{_amount(grains, style)} {'behind' if grains > 0 else 'in front of'} the {mark}"


def short_words(words: str) -> str:
    """Words of one direction as a narrow column has them: "S1: 4 outside 35", "6 behind FH"."""
    short = words.replace("side 1, ", "S1: ").replace("side 2, ", "S2: ").replace("the ", "")
    for mark, letters in zip(MARKS, ("FS", "FH", "BH", "BS"), strict=True):
        short = short.replace(mark, letters)
    return short


SHORT_KEY = (
    "S1, S2: side 1, side 2 · FH, BH: front hash, back hash · FS, BS: front sideline, back sideline"
)


def coordinate_words(x: int, y: int, kind: FieldType, style: Style = USUAL) -> str:
    """Both directions: "side 1, 3.5 outside the 40, 6 behind the front hash"."""
    return f"{across_words(x, style)}, {depth_words(y, kind, style)}"


def offset_of(y: int, kind: FieldType, style: Style = USUAL) -> Offset:
    """The mark that a depth is written from and the unrounded distance, in steps of the style's
    display. Midway between two marks the one nearer the press box counts."""
    mark, behind = _from_nearest(y, kind, style)
    return Offset(mark, Fraction(behind) / UNITS_PER_STEP)


def parse_across(text: str, style: Style = USUAL) -> int:
    """x of words such as "S1: 3 1/2 out 40", "2 m left of the 50", "side 2, between the 35 and
    the 40" (midway). ValueError with a message for the person."""
    across = reading.read_across(text)
    seen = round(across.from_50)
    return _near_enough(-seen if style.from_field else seen, text)


def parse_depth(text: str, kind: FieldType, style: Style = USUAL) -> int:
    """y of words such as "6 behind the front hash", "6 bfh", "2 m behind the front sideline".

    Steps are those of the style's display; inches, feet, yards and metres always real ones from
    the real mark. ValueError with a message for the person.
    """
    depth = reading.read_depth(text)
    real, shown = _real_marks(kind), _shown_marks(kind, style)
    ends = [MARKS.index(mark) for mark in depth.marks]
    if depth.in_steps:
        at = Fraction(sum(shown[end] for end in ends), len(ends)) + depth.behind
        y = round(_stretch(at, shown, real))
    else:
        y = round(Fraction(sum(real[end] for end in ends), len(ends)) + depth.behind)
    return _near_enough(y, text)


def parse_coordinate(text: str, kind: FieldType, style: Style = USUAL) -> tuple[int, int]:
    """x and y of words for both directions, in either order. ValueError for the person."""
    across, depth = reading.split_coordinate(text)
    return parse_across(across, style), parse_depth(depth, kind, style)


def written_error(x: int, y: int, kind: FieldType, style: Style = USUAL) -> tuple[int, int]:
    """How far the written coordinate is from the true one: (dx, dy), each at most half of the
    style's grain (in the rounded display: of that display's steps)."""
    read = parse_coordinate(coordinate_words(x, y, kind, style), kind, style)
    return read[0] - x, read[1] - y


def steps_words(distance: float, style: Style = USUAL) -> str:
    """A distance (1/32 inch) as finely as coordinates are written: "2.5", "3 1/16"."""
    return _amount(round(Fraction(abs(distance)) / style.grain), style)


def feet_words(units: int) -> str:
    """A length in feet and inches, exactly: "53 ft 4 in", "60 ft", "2 1/4 in"."""
    feet, rest = divmod(units, 12 * UNITS_PER_INCH)
    whole, part = divmod(rest, UNITS_PER_INCH)
    inches = " ".join(str(n) for n in (whole, Fraction(part, UNITS_PER_INCH)) if n)
    words = [f"{feet} ft"] if feet else []
    words += [f"{inches} in"] if inches or not feet else []
    return " ".join(words) if units else "0 in"


def real_depth(mark: str, kind: FieldType) -> int:
    """Where one of ``MARKS`` stands on a field."""
    return _real_marks(kind)[MARKS.index(mark)]


def rounded_marks(kind: FieldType) -> tuple[int, int, int, int]:
    """Where the sidelines and hashes stand in the rounded display, in whole steps from the front
    sideline: (0, 28, 56, 84) where the hashes are at 53 ft 4 in, (0, 32, 52, 84) at 60 ft."""
    front = min(max(round(Fraction(kind.front_hash, UNITS_PER_STEP)), 1), ROUNDED_DEPTH - 2)
    from_back = round(Fraction(FIELD_WIDTH - kind.back_hash, UNITS_PER_STEP))
    back = min(max(ROUNDED_DEPTH - from_back, front + 1), ROUNDED_DEPTH - 1)
    return 0, front, back, ROUNDED_DEPTH


def _real_marks(kind: FieldType) -> tuple[int, ...]:
    return 0, kind.front_hash, kind.back_hash, FIELD_WIDTH


def _shown_marks(kind: FieldType, style: Style) -> tuple[int, ...]:
    if style.rounded:
        return tuple(step * UNITS_PER_STEP for step in rounded_marks(kind))
    return _real_marks(kind)


def _from_nearest(y: int, kind: FieldType, style: Style) -> tuple[str, int | Fraction]:
    """The nearest mark and how far behind it, in 1/32 inch of the style's display."""
    marks = _shown_marks(kind, style)
    shown = _stretch(Fraction(y), _real_marks(kind), marks) if style.rounded else y
    behind: list[int | Fraction] = [shown - mark for mark in marks]
    nearest = min(range(len(MARKS)), key=lambda at: max(behind[at], -behind[at]))
    return MARKS[nearest], behind[nearest]


def _stretch(at: Fraction, before: tuple[int, ...], after: tuple[int, ...]) -> Fraction:
    """A depth carried from one row of marks to another, evenly between two marks and unchanged
    in size beyond the sidelines."""
    if at <= before[0] or before == after:
        return at - before[0] + after[0]
    for low in range(len(before) - 1):
        if at <= before[low + 1]:
            share = (at - before[low]) / (before[low + 1] - before[low])
            return after[low] + share * (after[low + 1] - after[low])
    return at - before[-1] + after[-1]


def _amount(grains: int, style: Style) -> str:
    """A distance in steps: '3.5' in quarters, '3 1/16' in sixteenths."""
    count = abs(grains)
    if not style.sixteenths:
        whole, rest = divmod(count, 4)
        return f"{whole}{('', '.25', '.5', '.75')[rest]}"
    whole, rest = divmod(count, 16)
    fraction = str(Fraction(rest, 16)) if rest else ""
    return " ".join(part for part in (str(whole) if whole or not rest else "", fraction) if part)


def _near_enough(units: int, text: str) -> int:
    if abs(units) > FARTHEST:
        raise ValueError(f"“{text.strip()}” is way off the field.")
    return units
