"""A table of an import: its cells, rows and headers, and what the reader noticed."""

from __future__ import annotations

from collections.abc import Callable, Container, Iterable
from dataclasses import dataclass, field, replace
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


@dataclass(frozen=True, slots=True)
class Aside:
    """A row that is likely no entry, and what it looks like."""

    row: Row
    why: str


@dataclass(frozen=True)
class Table:
    """Headers, rows, and what the reader noticed; ``slips`` are to be mended in the file.

    ``asides`` are left out unless somebody takes them in. ``sheets`` are those of a workbook
    that has several, ``sheet`` the one that was read.
    """

    headers: tuple[str, ...]
    rows: tuple[Row, ...]
    notes: tuple[str, ...] = field(default=())
    slips: tuple[Slip, ...] = field(default=())
    asides: tuple[Aside, ...] = field(default=())
    sheets: tuple[str, ...] = field(default=())
    sheet: str = ""

    def chosen(self, out: Container[int], taken_in: Container[int] = ()) -> Table:
        """The table without some of its rows, and with some that were left aside."""
        back = [aside.row for aside in self.asides if aside.row.number in taken_in]
        # Layouts have an order of their own, which stays where nothing comes in between.
        rows = sorted([*self.rows, *back], key=lambda row: row.number) if back else self.rows
        kept = tuple(row for row in rows if row.number not in out)
        slips = tuple(slip for slip in self.slips if slip.row not in out)
        return replace(self, rows=kept, slips=slips)


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
