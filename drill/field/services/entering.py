"""Reading where a dot stands as people write it: steps as a number, or words."""

from __future__ import annotations

import re
from dataclasses import dataclass

from bandops.lib.imports.values import parse_decimal
from drill.field.core import field, spoken
from drill.field.services.writing import Writer, writer_of
from roster.people.models import Season

LETTER = re.compile(r"[^\W\d_]")


@dataclass(frozen=True, slots=True)
class Entry:
    """Reads numbers and words alike, exactly; numbers are 8-to-5 steps from the 50, positive to
    the press box's right, and from the front sideline."""

    writer: Writer

    def across(self, text: str) -> int:
        """Units from the 50. ValueError with a message for the person."""
        if is_number(text):
            return _steps(text)
        return spoken.parse_across(text, self.writer.style)

    def depth(self, text: str) -> int:
        """Units from the front sideline. ValueError with a message for the person."""
        if is_number(text):
            return _steps(text)
        return spoken.parse_depth(text, self.writer.kind, self.writer.style)


def entry_of(season: Season, field_name: str) -> Entry:
    """How the season reads on a field of that name."""
    return Entry(writer_of(season, field_name))


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
    if abs(found) > spoken.FARTHEST:
        raise ValueError(f"{text.strip()} steps is way off the field.")
    return found
