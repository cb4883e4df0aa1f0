"""A table of an import: its cells, rows and headers, and what the reader noticed."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass, field
from enum import StrEnum

from django.conf import settings

from bandops.lib.errors import Refused

WIDEST = 1_000
"""columns that are read at all: layouts of one import's own may be wider than a table"""


class Oddity(StrEnum):
    """What a cell was before it became text."""

    DATE = "date"
    NUMBER = "number"
    FORMULA = "formula"


@dataclass(frozen=True, slots=True)
class Cell:
    """One cell's text; ``oddity`` warns that a spreadsheet may have altered it.

    ``row`` and ``column`` say where it stood in the file when a layout has moved it.
    """

    text: str
    oddity: Oddity | None = None
    row: int = 0
    column: str = ""


EMPTY = Cell("")


@dataclass(frozen=True, slots=True)
class Row:
    """One row with its number in the file (the header is row 1 when it comes first)."""

    number: int
    cells: tuple[Cell, ...]

    def cell(self, position: int) -> Cell:
        return self.cells[position] if position < len(self.cells) else EMPTY


@dataclass(frozen=True, slots=True)
class Slip:
    """A header that is not quite one of those a layout knows, and is read as the nearest."""

    row: int
    column: str
    message: str


@dataclass(frozen=True)
class Table:
    """Headers, rows, and what the reader noticed; ``slips`` are to be mended in the file."""

    headers: tuple[str, ...]
    rows: tuple[Row, ...]
    notes: tuple[str, ...] = field(default=())
    slips: tuple[Slip, ...] = field(default=())


Numbered = list[tuple[int, list[Cell]]]
Layout = Callable[[Numbered, list[str]], Table | None]
"""Makes a table of a file's rows, with notes; None for the usual one of headers and rows."""


def text_cell(text: str) -> Cell:
    """A cell of text, marked where it is a formula."""
    return Cell(text, Oddity.FORMULA if text.strip().startswith("=") else None)


def numbered_rows(filename: str, rows: Iterable[list[Cell]]) -> Numbered:
    """The rows that hold anything, with their numbers and without the empty cells at their end."""
    found: Numbered = []
    for number, row in enumerate(rows, 1):
        while row and not row[-1].text.strip():
            row.pop()
        if row:
            found.append((number, row))
        if len(found) - 1 > settings.IMPORT_MAX_ROWS:
            raise Refused(f"{filename} has more than {settings.IMPORT_MAX_ROWS:,} rows.")
    return found
