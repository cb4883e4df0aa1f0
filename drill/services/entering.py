"""Reading where a place stands as people write it: steps as a number, or words."""

from __future__ import annotations

import re
from dataclasses import dataclass

from bandops.lib.imports.values import parse_decimal
from drill import queries
from drill.core import field, spoken
from drill.core.field import FieldType
from drill.core.spoken import Style
from drill.enums import DepthDisplay, Precision, SeenFrom
from drill.models import DrillSettings
from roster.models import Season

FARTHEST = 1_000 * field.UNITS_PER_STEP
"""from the 50 or the front sideline; beyond it a number is a slip"""
LETTER = re.compile(r"[^\W\d_]")


@dataclass(frozen=True)
class Entry:
    """A field and a season's way to write; reads numbers and words alike, exactly."""

    kind: FieldType
    style: Style

    def across(self, text: str) -> int:
        """Units from the 50. ValueError with a message for the person."""
        return _steps(text) if is_number(text) else spoken.parse_across(text, self.style)

    def depth(self, text: str) -> int:
        """Units from the front sideline. ValueError with a message for the person."""
        return _steps(text) if is_number(text) else spoken.parse_depth(text, self.kind, self.style)

    def place(self, text: str) -> tuple[int, int]:
        """Both, in words. ValueError with a message for the person."""
        return spoken.parse_place(text, self.kind, self.style)

    def across_words(self, x: int) -> str:
        return spoken.across_words(x, self.style)

    def depth_words(self, y: int) -> str:
        return spoken.depth_words(y, self.kind, self.style)


def entry_of(season: Season, field_name: str) -> Entry:
    """How the season reads and writes on a field of that name."""
    return Entry(queries.field_of(season, field_name), style_of(queries.drill_settings(season)))


def style_of(settings: DrillSettings) -> Style:
    """The season's way to write places."""
    return Style(
        from_field=settings.seen_from == SeenFrom.FIELD,
        sixteenths=settings.precision == Precision.SIXTEENTH,
        rounded=settings.depth == DepthDisplay.ROUNDED,
    )


def is_number(text: str) -> bool:
    """True for what is no words: a number, or a slip in one."""
    try:
        parse_decimal(text)
    except ValueError:
        return LETTER.search(text) is None or text.strip()[:1] in "+-"
    return True


def off_field(x: int, y: int) -> bool:
    """True beyond the end lines or the sidelines."""
    return abs(x) > field.END_LINE or not 0 <= y <= field.FIELD_WIDTH


def _steps(text: str) -> int:
    found = field.units(str(parse_decimal(text)))
    if abs(found) > FARTHEST:
        raise ValueError(f"{text.strip()} steps is far off any field.")
    return found
