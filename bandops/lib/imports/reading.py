"""Reading tables as bands really send them: CSV of any delimiter and encoding, and XLSX.

Every cell comes as text exactly as written: codes keep their leading zeros, formulas stay text.
CSV follows RFC 4180, and forgives single CR line ends and rows of uneven length; a quotation
mark that is never closed is refused, because it would swallow the rows below it.
"""

from __future__ import annotations

import csv
import datetime
import io
import re
import zipfile
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass, field
from enum import StrEnum

from django.conf import settings

from bandops.lib.errors import Refused

DELIMITERS = ",;\t|"
TITLE_LINES = 5
MAX_UNPACKED = 100 * 1024 * 1024
MAX_COLUMNS = 200
WIDEST = 1_000
"""columns that are read at all: layouts of one import's own may be wider than a table"""
TOTALS = re.compile(
    r"(grand\s+|sub)?totals?\b.*|(sum|count|average)\s*[:=]?\s*[\d.,]*", re.IGNORECASE
)
FIGURE = re.compile(r"[-+]?[\d.,\s]+%?|=.*")
FORMULA_STARTS = ("=", "+", "-", "@", "\t", "\r", "\n", "＝", "＋", "－", "＠")
"""what OWASP's page on CSV injection lists (from memory)"""
DELIMITER_LINE = re.compile(r"\"?sep=([,;\t|])\"?[\r\n]", re.IGNORECASE)
"""a first line that spreadsheets of some countries write for themselves"""
SAMPLE = 2_000
SINGLE_BYTE = ("cp1252", "mac_roman", "cp1250")
MARKED = re.compile(r"(?<=(.))([^\x00-\x7f])(?=(.))", re.DOTALL)
NO_TABLE = "is not a table: save it as .csv or .xlsx."
PAGE = re.compile(r"\s*(<!doctype|<html|<\?xml|\{\\rtf)", re.IGNORECASE)
"""how web pages and documents begin that are saved under a table's name"""
NOT_TEXT = re.compile(r"[\x00-\x08\x0e-\x1a]")


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


READ_AS = "Read as {} text: check the letters with marks, and save as UTF-8 if one is wrong."
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


def read_table(filename: str, content: bytes, layout: Layout | None = None) -> Table:
    """The table of an uploaded file; Refused with a plain message when there is none."""
    if len(content) > settings.IMPORT_MAX_BYTES:
        raise Refused(f"{filename} is larger than {settings.IMPORT_MAX_BYTES // 2**20} MB.")
    if not content.strip():
        raise Refused(f"{filename} is empty.")
    if content[:4] == b"PK\x03\x04":
        rows, notes = _read_xlsx(filename, content)
    elif content[:8] == b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1":
        raise Refused(f"{filename} is an old Excel file: save it as .xlsx or .csv first.")
    elif content[:5] == b"%PDF-":
        raise Refused(f"{filename} {NO_TABLE}")
    else:
        rows, notes = _read_csv(filename, content)
    if not rows:
        raise Refused(f"{filename} is empty: no headers, and no rows below its headers.")
    return (layout and layout(rows, notes)) or table_of_rows(filename, rows, notes)


def _read_csv(filename: str, content: bytes) -> tuple[Numbered, list[str]]:
    if why := _no_text(content[:SAMPLE]):
        raise Refused(f"{filename} {why}")
    text, encoding = decode(content)
    if NOT_TEXT.search(text) or PAGE.match(text):
        raise Refused(f"{filename} {NO_TABLE}")
    notes = [] if encoding in ("utf-8", "ascii") else [READ_AS.format(encoding)]
    hint = DELIMITER_LINE.match(text)
    delimiter = hint[1] if hint else _delimiter(text)
    if delimiter != ",":
        name = {";": "semicolons", "\t": "tabs", "|": "bars"}[delimiter]
        notes.append(f"Columns are separated by {name}.")
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=delimiter, strict=True)
    line = 1
    rows: list[list[Cell]] = []
    try:
        for row in reader:
            rows.append([_csv_cell(value) for value in row[: WIDEST + 1]])
            line = reader.line_num + 1
    except csv.Error as error:
        raise Refused(_csv_fault(filename, line, error)) from error
    if hint:
        rows[0].clear()
    return _filled(filename, rows), notes


def _csv_fault(filename: str, line: int, error: csv.Error) -> str:
    if "field limit" in str(error):
        return f"{filename}, line {line}: a cell is too long. Is a quotation mark not closed?"
    return (
        f"{filename}, line {line}: a cell's quotation marks do not pair. "
        "A cell that begins with one ends with one, and one inside it is doubled."
    )


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
        return min((_single_bytes(content, e) for e in SINGLE_BYTE), key=lambda t: _odd(t[0]))


def _no_text(sample: bytes) -> str:
    """Why a file is no text, told from its beginning before every encoding is tried on all of
    it; empty for text. Two bytes a letter are read only with their mark."""
    if sample[:2] in (b"\xff\xfe", b"\xfe\xff") or not NOT_TEXT.search(sample.decode("latin-1")):
        return ""
    halves = (sample[::2], sample[1::2])
    if any(10 * half.count(0) > 9 * len(half) for half in halves):
        return "is not a table that can be read: save it as CSV in UTF-8, or as .xlsx."
    return NO_TABLE


def _single_bytes(content: bytes, encoding: str) -> tuple[str, str]:
    return content.decode(encoding, "replace"), encoding


def _odd(text: str) -> int:
    """How many letters with marks stand where names have none; equal encodings keep their order.

    Statistics of language fail on a list of names: Núñez may as well be Núńez.
    """
    found = 0
    for match in MARKED.finditer(text):
        before, character, after = match[1], match[2], match[3]
        if character.isalpha():
            found += character.isupper() and before.isalpha() and before.islower()
            found += character.isupper() and before.isupper() and after.islower()
        elif character == "’":
            found += not before.isalnum()
        else:
            found += character not in "“”–—…°ºª€" or (before.isalpha() and after.isalpha())
    return found


def _delimiter(text: str) -> str:
    """The delimiter that splits the first lines into more than one column, and most evenly."""
    sample = text[:20_000]

    def score(delimiter: str) -> tuple[bool, bool, int, int, int]:
        rows = csv.reader(io.StringIO(sample, newline=""), delimiter=delimiter)
        widths = [len(row) for _, row in zip(range(20), rows, strict=False) if row]
        # A title above the headers splits nowhere, or otherwise than all below it.
        at = next((n for n, width in enumerate(widths) if width > 1), len(widths))
        first = widths[at] if at < len(widths) else 0
        even = sum(width == first for width in widths)
        return at == 0 and first > 2, even > 1, -at, even, first

    return max(DELIMITERS, key=score)


def _csv_cell(value: str) -> Cell:
    if not value:
        return EMPTY
    if value[0] == "'" and value.lstrip("'").startswith(FORMULA_STARTS):
        value = value[1:]
    return _text_cell(value)


def _text_cell(text: str) -> Cell:
    return Cell(text, Oddity.FORMULA if text.strip().startswith("=") else None)


def _read_xlsx(filename: str, content: bytes) -> tuple[Numbered, list[str]]:
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
    return _filled(filename, cells), notes


def _filled(filename: str, rows: Iterable[list[Cell]]) -> Numbered:
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
    return _text_cell(str(value))


def table_of_rows(filename: str, rows: Numbered, notes: list[str]) -> Table:
    """Headers below titles, then rows; Refused when there are none."""
    rows = _below_titles(rows, notes)
    if len(rows) < 2:
        raise Refused(f"{filename} has no rows below its headers.")
    (_, header), *body = rows
    if len(header) > MAX_COLUMNS:
        raise Refused(f"{filename} has more than {MAX_COLUMNS} columns.")
    headers = tuple(c.text.strip() for c in header)
    kept = tuple(_rows(body, notes))
    return Table(headers, kept, (*notes, *_header_notes(headers, kept), *_unread(kept)))


def _below_titles(rows: Numbered, notes: list[str]) -> Numbered:
    """Without lines that hold one cell above the wider line of the headers."""

    def filled(row: list[Cell]) -> int:
        return sum(bool(c.text.strip()) for c in row)

    for skipped in range(1, min(TITLE_LINES, len(rows) - 1) + 1):
        if filled(rows[skipped - 1][1]) > 1:
            return rows
        if filled(rows[skipped][1]) > 2:
            title = next(c.text.strip() for c in rows[skipped - 1][1] if c.text.strip())
            notes.append(f"“{title}” is taken for a title; headers are in row {rows[skipped][0]}.")
            return rows[skipped:]
    return rows


def _rows(body: Numbered, notes: list[str]) -> Iterator[Row]:
    """Rows but a closing line of totals."""
    for number, cells in body:
        if number == body[-1][0] and is_totals([c.text.strip() for c in cells]):
            notes.append(f"Row {number} looks like a line of totals and is left out.")
            continue
        yield Row(number, tuple(cells))


def is_totals(texts: list[str]) -> bool:
    """A word for a total, and nothing but figures beside it."""
    filled = [text for text in texts if text]
    named = [text for text in filled if TOTALS.fullmatch(text)]
    return bool(named) and all(text in named or FIGURE.fullmatch(text) for text in filled)


def _unread(rows: tuple[Row, ...]) -> Iterator[str]:
    lost = [row.number for row in rows if any("\ufffd" in c.text for c in row.cells)]
    if lost:
        numbers = ", ".join(map(str, lost[:5])) + ("…" if len(lost) > 5 else "")
        yield f"Row {numbers}: letters that could not be read stand as \ufffd; save as UTF-8."


def _header_notes(headers: tuple[str, ...], rows: tuple[Row, ...]) -> Iterator[str]:
    seen: set[str] = set()
    for position, header in enumerate(headers):
        name = header.casefold()
        if not header and any(row.cell(position).text.strip() for row in rows):
            yield f"Column {position + 1} has no header; choose what it is, or it is left out."
        elif header and name in seen:
            yield f"Two columns are called “{header}”; the first is used."
        seen.add(name)
    wide = [row.number for row in rows if any(c.text.strip() for c in row.cells[len(headers) :])]
    if wide:
        numbers = ", ".join(map(str, wide[:5])) + ("…" if len(wide) > 5 else "")
        yield f"Row {numbers}: more cells than headers; the extra ones are left out."
