"""Reading tables as bands really send them: CSV of any delimiter and encoding, and XLSX.

Every cell comes as text exactly as written: codes keep their leading zeros, formulas stay text.
CSV follows RFC 4180, and forgives single CR line ends and rows of uneven length.
"""

from __future__ import annotations

import csv
import datetime
import io
import re
import zipfile
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from enum import StrEnum

import charset_normalizer
from django.conf import settings

from bandops.lib.errors import Refused

DELIMITERS = ",;\t|"
MAX_UNPACKED = 100 * 1024 * 1024
TOTALS = re.compile(r"^(grand\s+)?(totals?|sum|count|average)\b\s*:?", re.IGNORECASE)


class Oddity(StrEnum):
    """What a cell was before it became text."""

    DATE = "date"
    NUMBER = "number"
    FORMULA = "formula"


@dataclass(frozen=True, slots=True)
class Cell:
    """One cell's text; ``oddity`` warns that a spreadsheet may have altered it."""

    text: str
    oddity: Oddity | None = None


@dataclass(frozen=True, slots=True)
class Row:
    """One row with its number in the file (the header is row 1 when it comes first)."""

    number: int
    cells: tuple[Cell, ...]

    def cell(self, position: int) -> Cell:
        return self.cells[position] if position < len(self.cells) else Cell("")


@dataclass(frozen=True)
class Table:
    """Headers, rows, and what the reader noticed."""

    headers: tuple[str, ...]
    rows: tuple[Row, ...]
    notes: tuple[str, ...] = field(default=())


def read_table(filename: str, content: bytes) -> Table:
    """The table of an uploaded file; Refused with a plain message when there is none."""
    if len(content) > settings.IMPORT_MAX_BYTES:
        raise Refused(f"{filename} is larger than {settings.IMPORT_MAX_BYTES // 2**20} MB.")
    if not content.strip():
        raise Refused(f"{filename} is empty.")
    if content[:4] == b"PK\x03\x04":
        rows, notes = _read_xlsx(filename, content)
    elif content[:8] == b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1":
        raise Refused(f"{filename} is an old Excel file: save it as .xlsx or .csv first.")
    else:
        rows, notes = _read_csv(filename, content)
    return _table(filename, rows, notes)


def _read_csv(filename: str, content: bytes) -> tuple[list[list[Cell]], list[str]]:
    text, encoding = decode(content)
    if "\x00" in text:
        raise Refused(f"{filename} is not a table: save it as .csv or .xlsx.")
    notes = [] if encoding in ("utf-8", "ascii") else [f"Read as {encoding} text."]
    delimiter = _delimiter(text)
    if delimiter != ",":
        name = {";": "semicolons", "\t": "tabs", "|": "bars"}[delimiter]
        notes.append(f"Columns are separated by {name}.")
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=delimiter)
    try:
        return [[_csv_cell(value) for value in row] for row in reader], notes
    except csv.Error as error:
        raise Refused(f"{filename}, line {reader.line_num}: {error}.") from error


def decode(content: bytes) -> tuple[str, str]:
    """Text and the name of its encoding."""
    for mark, encoding in (
        (b"\xef\xbb\xbf", "utf-8"),
        (b"\xff\xfe", "utf-16-le"),
        (b"\xfe\xff", "utf-16-be"),
    ):
        if content.startswith(mark):
            return content[len(mark) :].decode(encoding, "replace"), encoding
    try:
        return content.decode("utf-8"), "utf-8"
    except UnicodeDecodeError:
        candidates = ["cp1252", "mac_roman", "cp1250"]
        guess = charset_normalizer.from_bytes(content, cp_isolation=candidates).best()
        encoding = guess.encoding if guess else "cp1252"
        return content.decode(encoding, "replace"), encoding


def _delimiter(text: str) -> str:
    """The delimiter that splits the first lines most evenly into more than one column."""
    sample = text[:20_000]

    def score(delimiter: str) -> tuple[int, int]:
        rows = csv.reader(io.StringIO(sample, newline=""), delimiter=delimiter)
        widths = [len(row) for _, row in zip(range(20), rows, strict=False) if row]
        first = widths[0] if widths else 0
        return (first > 1) * sum(width == first for width in widths), first

    return max(DELIMITERS, key=score)


def _csv_cell(value: str) -> Cell:
    text = value.strip()
    if len(text) > 1 and text[0] == "'" and text[1] in "=+-@\t\r":
        text = text[1:]
    return Cell(text, Oddity.FORMULA if text.startswith("=") else None)


def _read_xlsx(filename: str, content: bytes) -> tuple[list[list[Cell]], list[str]]:
    import openpyxl

    try:
        with zipfile.ZipFile(io.BytesIO(content)) as archive:
            if sum(item.file_size for item in archive.infolist()) > MAX_UNPACKED:
                raise Refused(f"{filename} unpacks to more than it should: save it as .csv.")
        book = openpyxl.load_workbook(io.BytesIO(content), read_only=True)
        sheets = [s for s in book.worksheets if s.sheet_state == "visible"]
    except Refused:
        raise
    except Exception as error:
        raise Refused(f"{filename} cannot be read as a spreadsheet: {error}.") from error
    if not sheets:
        raise Refused(f"{filename} has no visible sheet.")
    notes = []
    if len(sheets) > 1:
        notes.append(f"Read the sheet “{sheets[0].title}”; the others are left out.")
    sheets[0].reset_dimensions()
    rows = []
    for row in sheets[0].iter_rows():
        rows.append([_xlsx_cell(c.value, getattr(c, "number_format", "")) for c in row])
        if len(rows) > settings.IMPORT_MAX_ROWS + 1:
            break
    return rows, notes


def _xlsx_cell(value: object, number_format: str) -> Cell:
    if value is None:
        return Cell("")
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
    text = str(value).strip()
    return Cell(text, Oddity.FORMULA if text.startswith("=") else None)


def _table(filename: str, rows: list[list[Cell]], notes: list[str]) -> Table:
    numbered = [(number, row) for number, row in enumerate(rows, 1) if any(c.text for c in row)]
    if len(numbered) < 2:
        raise Refused(f"{filename} has no rows below its headers.")
    if len(numbered) - 1 > settings.IMPORT_MAX_ROWS:
        raise Refused(f"{filename} has more than {settings.IMPORT_MAX_ROWS:,} rows.")
    (_, header), *body = numbered
    width = max(i + 1 for i, c in enumerate(header) if c.text)
    headers = tuple(c.text for c in header[:width])
    kept = tuple(_rows(body, notes))
    return Table(headers, kept, (*notes, *_header_notes(headers, kept)))


def _rows(body: Iterable[tuple[int, list[Cell]]], notes: list[str]) -> Iterator[Row]:
    """Rows but a closing line of totals."""
    body = list(body)
    for number, cells in body:
        filled = [c.text for c in cells if c.text]
        if number == body[-1][0] and len(filled) <= 3 and any(TOTALS.match(t) for t in filled):
            notes.append(f"Row {number} looks like a line of totals and is left out.")
            continue
        yield Row(number, tuple(cells))


def _header_notes(headers: tuple[str, ...], rows: tuple[Row, ...]) -> Iterator[str]:
    seen: set[str] = set()
    for position, header in enumerate(headers):
        name = header.casefold()
        if not header and any(row.cell(position).text for row in rows):
            yield f"Column {position + 1} has no header; choose what it is, or it is left out."
        elif header and name in seen:
            yield f"Two columns are called “{header}”; the first is used."
        seen.add(name)
    wide = [row.number for row in rows if any(c.text for c in row.cells[len(headers) :])]
    if wide:
        numbers = ", ".join(map(str, wide[:5])) + ("…" if len(wide) > 5 else "")
        yield f"Row {numbers}: more cells than headers; the extra ones are left out."
