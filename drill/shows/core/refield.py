"""A drill on another field: the coordinates stay, the words that name a hash change."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from fractions import Fraction

from drill.field.core.field import UNITS_PER_STEP, FieldType
from drill.field.core.spoken import USUAL, Style, depth_words, offset_of, real_depth


@dataclass(frozen=True, slots=True)
class Rewritten:
    """A depth whose words change: before, after, and how far it truly is behind the mark that the
    new words name, in 8-to-5 steps."""

    old: str
    new: str
    exact: Fraction


def rewrite(
    depths: Iterable[int], before: FieldType, after: FieldType, style: Style = USUAL
) -> dict[int, Rewritten]:
    """Depth (1/32 inch) -> its words on both fields, for the depths whose words differ."""
    found = {}
    for y in set(depths):
        old, new = depth_words(y, before, style), depth_words(y, after, style)
        if old != new:
            mark = offset_of(y, after, style).mark
            exact = Fraction(y - real_depth(mark, after), UNITS_PER_STEP)
            found[y] = Rewritten(old, new, exact)
    return found
