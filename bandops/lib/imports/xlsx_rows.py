"""Rows of a spreadsheet's first visible sheet."""

from __future__ import annotations

import datetime
import io
import re
import zipfile

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


def read_xlsx(filename: str, content: bytes) -> tuple[Numbered, list[str]]:
    """Refused for whatever the file's own XML may do to the parser."""
    try:
        with zipfile.ZipFile(io.BytesIO(content)) as archive:
            if sum(item.file_size for item in archive.infolist()) > MAX_UNPACKED:
                raise Refused(f"{filename} unpacks to more than it should: save it as .csv.")
        return _read_sheet(filename, content)
    except Refused:
        raise
    except Exception as error:
        raise Refused(f"{filename} cannot be read as a spreadsheet: save it as .csv.") from error


def _read_sheet(filename: str, content: bytes) -> tuple[Numbered, list[str]]:
    import openpyxl

    book = openpyxl.load_workbook(io.BytesIO(content), read_only=True)
    sheets = [s for s in book.worksheets if s.sheet_state == "visible"]
    if not sheets:
        raise Refused(f"{filename} has no visible sheet.")
    notes = []
    if len(sheets) > 1:
        notes.append(f"Read the sheet “{sheets[0].title}”; the others are left out.")
    sheets[0].reset_dimensions()
    cells = (
        [_xlsx_cell(c.value, getattr(c, "number_format", "")) for c in row]
        for row in sheets[0].iter_rows(max_col=WIDEST + 1)
    )
    return numbered_rows(filename, cells), notes


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
