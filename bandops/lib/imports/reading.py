"""Reading tables as bands really send them: CSV of any delimiter and encoding, and XLSX.

Every cell comes as text exactly as written: codes keep their leading zeros, formulas stay text.
CSV follows RFC 4180, and forgives single CR line ends and rows of uneven length; a quotation
mark that is never closed is refused, because it would swallow the rows below it.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

from django.conf import settings

from bandops.lib.errors import Refused
from bandops.lib.imports.csv_rows import NO_TABLE, read_csv
from bandops.lib.imports.headers import table_of_rows
from bandops.lib.imports.tables import Layout, Numbered, Table
from bandops.lib.imports.xlsx_rows import Sheets, read_xlsx


@dataclass(frozen=True)
class FileRows:
    """The rows of a file, or of one sheet of a workbook, before they are a table."""

    filename: str
    rows: Numbered
    sheets: Sheets
    notes: tuple[str, ...]


def read_rows(filename: str, content: bytes, sheet: str = "") -> FileRows:
    """The rows of an uploaded file; Refused with a plain message when it is none."""
    if len(content) > settings.IMPORT_MAX_BYTES:
        raise Refused(f"{filename} is larger than {settings.IMPORT_MAX_BYTES // 2**20} MB.")
    if not content.strip():
        raise Refused(f"{filename} is empty.")
    sheets, notes = Sheets((), ""), list[str]()
    if content[:4] == b"PK\x03\x04":
        rows, sheets = read_xlsx(filename, content, sheet)
    elif content[:8] == b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1":
        raise Refused(f"{filename} is an old Excel file: save it as .xlsx or .csv first.")
    elif content[:5] == b"%PDF-":
        raise Refused(f"{filename} {NO_TABLE}")
    else:
        rows, notes = read_csv(filename, content)
    return FileRows(filename, rows, sheets, tuple(notes))


def table_of_file(file: FileRows, layout: Layout | None = None) -> Table:
    """The table that the rows of a file make; Refused when there is none."""
    if not file.rows:
        raise Refused(f"{file.filename} is empty: no headers, and no rows below its headers.")
    notes = list(file.notes)
    if len(file.sheets.titles) > 1:
        notes.append(f"Read the sheet “{file.sheets.read}”; the others can be read next.")
    rows = file.rows
    table = (layout and layout(rows, notes)) or table_of_rows(file.filename, rows, notes)
    return replace(table, sheets=file.sheets.titles, sheet=file.sheets.read)


def read_table(
    filename: str, content: bytes, layout: Layout | None = None, sheet: str = ""
) -> Table:
    """The table of an uploaded file, of one sheet of a workbook; Refused with a plain message
    when there is none."""
    return table_of_file(read_rows(filename, content, sheet), layout)
