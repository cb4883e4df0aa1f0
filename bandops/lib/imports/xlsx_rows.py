"""Rows of one visible sheet of a workbook."""

from __future__ import annotations

import datetime
import io
import re
import zipfile
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from django.conf import settings

from bandops.lib.errors import Refused
from bandops.lib.imports.tables import (
    EMPTY,
    WIDEST,
    Cell,
    Numbered,
    Oddity,
    numbered_rows,
    text_cell,
)

MAX_UNPACKED = 100 * 1024 * 1024
MAX_PART = 20 * 1024 * 1024
"""of what the parser keeps whole: shared texts, styles"""
MOST_SHEETS = 60
LAST_ROW = 1_048_576
"""of a sheet in any program that writes such files"""


@dataclass(frozen=True)
class Sheets:
    """The visible sheets' titles, and the one that was read."""

    titles: tuple[str, ...]
    read: str


def read_xlsx(filename: str, content: bytes, wanted: str = "") -> tuple[Numbered, Sheets]:
    """The rows of the sheet of a title, else of the first one that holds anything. Refused for
    whatever the file's own XML may do to the parser."""
    try:
        with zipfile.ZipFile(io.BytesIO(content)) as archive:
            parts = archive.infolist()
            kept_whole = [p.file_size for p in parts if "worksheets/" not in p.filename]
            if sum(p.file_size for p in parts) > MAX_UNPACKED or max(kept_whole) > MAX_PART:
                raise Refused(f"{filename} unpacks to more than it should: save it as .csv.")
        return _read_sheet(filename, content, wanted)
    except Refused:
        raise
    except Exception as error:
        raise Refused(f"{filename} cannot be read as a spreadsheet: save it as .csv.") from error


def _read_sheet(filename: str, content: bytes, wanted: str) -> tuple[Numbered, Sheets]:
    import openpyxl

    book = openpyxl.load_workbook(io.BytesIO(content), read_only=True)
    sheets = [s for s in book.worksheets if s.sheet_state == "visible"]
    if not sheets:
        raise Refused(f"{filename} has no visible sheet.")
    if len(book.worksheets) > MOST_SHEETS:
        raise Refused(f"{filename} has more than {MOST_SHEETS} sheets: save the one as .csv.")
    titles = tuple(sheet.title for sheet in sheets)
    named = [sheet for sheet in sheets if sheet.title == wanted]
    rows: Numbered = []
    for sheet in named or sheets:
        rows = _rows_of(filename, sheet)
        if rows:
            return rows, Sheets(titles, sheet.title)
    return rows, Sheets(titles, (named or sheets)[0].title)


def _rows_of(filename: str, sheet: Any) -> Numbered:
    sheet.reset_dimensions()
    return numbered_rows(filename, _cell_rows(filename, sheet))


def _cell_rows(filename: str, sheet: Any) -> Iterator[list[Cell]]:
    """The sheet's rows; a formatted cell far below costs nothing for the rows up to it, which the
    reader gives as one and the same empty row."""
    gap, blank = None, 0
    for number, row in enumerate(sheet.iter_rows(max_col=WIDEST + 1), 1):
        if number > LAST_ROW or blank > settings.IMPORT_MAX_ROWS:
            raise Refused(f"{filename} has more rows than a sheet can have: save it as .csv.")
        if row is gap:
            yield []
        elif all(cell.value is None for cell in row):
            gap, blank = row, blank + 1
            yield []
        else:
            yield [_xlsx_cell(c.value, getattr(c, "number_format", "")) for c in row]


def _xlsx_cell(value: object, number_format: str) -> Cell:
    if value is None:
        return EMPTY
    if isinstance(value, bool):
        return Cell("yes" if value else "no")
    if isinstance(value, datetime.datetime):
        midnight = value.time() == datetime.time()
        return Cell(value.date().isoformat() if midnight else value.isoformat(), Oddity.DATE)
    if isinstance(value, datetime.date):
        return Cell(value.isoformat(), Oddity.DATE)
    if isinstance(value, datetime.time):
        return Cell(value.isoformat("minutes"))
    if isinstance(value, int | float):
        whole = float(value).is_integer()
        text = str(int(value)) if whole else repr(value)
        if whole and re.fullmatch("0+", number_format or ""):
            text = text.zfill(len(number_format))
        return Cell(text, Oddity.NUMBER)
    return text_cell(str(value))
