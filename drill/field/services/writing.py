"""Coordinates in the words a season has chosen, on the field of an event or a show."""

from __future__ import annotations

from dataclasses import dataclass

from drill.field import queries
from drill.field.core import spoken
from drill.field.core.field import FieldType
from drill.field.core.spoken import Style
from drill.field.wording import error_words, style_sentence
from roster.people.models import Season


@dataclass(frozen=True, slots=True)
class Writer:
    """Writes and reads coordinates on one field in one style; coordinates are in 1/32 inch."""

    kind: FieldType
    style: Style

    def across(self, x: int) -> str:
        """Side and yard line."""
        return spoken.across_words(x, self.style)

    def depth(self, y: int) -> str:
        """From the nearest hash or sideline."""
        return spoken.depth_words(y, self.kind, self.style)

    def coordinate(self, x: int, y: int) -> str:
        """Both directions."""
        return spoken.coordinate_words(x, y, self.kind, self.style)

    def parse(self, text: str) -> tuple[int, int]:
        """The coordinate of the words; ValueError with a message for the person."""
        return spoken.parse_coordinate(text, self.kind, self.style)

    def error(self, x: int, y: int) -> tuple[int, int]:
        """How far the written coordinate is from the true one."""
        return spoken.written_error(x, y, self.kind, self.style)

    def off(self, x: int, y: int) -> str:
        """The same in words, in inches."""
        return error_words(*self.error(x, y))

    @property
    def note(self) -> str:
        """What a reader must know to read the words; empty for the usual way."""
        return style_sentence(self.style, self.kind)


def writer_of(season: Season, field_name: str) -> Writer:
    """The season's writer on a field (two queries: make one a page)."""
    settings = queries.drill_settings(season)
    return Writer(queries.field_of(season, field_name), settings.style)
