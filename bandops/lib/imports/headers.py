"""A table made of a file's rows: headers below titles, rows above totals."""

from __future__ import annotations

import re
from collections.abc import Iterator

from bandops.lib.errors import Refused
from bandops.lib.imports.tables import Cell, Numbered, Row, Table

TITLE_LINES = 5
MAX_COLUMNS = 200
TOTALS = re.compile(
    r"(grand\s+|sub)?totals?\b.*|(sum|count|average)\s*[:=]?\s*[\d.,]*", re.IGNORECASE
)
FIGURE = re.compile(r"[-+]?[\d.,\s]+%?|=.*")


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
