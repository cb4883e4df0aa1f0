"""A table made of a file's rows: headers below titles, rows above totals."""

from __future__ import annotations

from collections.abc import Iterator

from bandops.lib.errors import Refused
from bandops.lib.imports.asides import group_headings, likely_aside
from bandops.lib.imports.tables import Aside, Cell, Numbered, Row, Table
from bandops.lib.imports.told import ranges

TITLE_LINES = 5
MAX_COLUMNS = 200


def table_of_rows(filename: str, rows: Numbered, notes: list[str]) -> Table:
    """Headers below titles, then rows; Refused when there are none."""
    rows = _below_titles(rows, notes)
    if len(rows) < 2:
        raise Refused(f"{filename} has no rows below its headers.")
    (_, header), *body = rows
    if len(header) > MAX_COLUMNS:
        raise Refused(f"{filename} has more than {MAX_COLUMNS} columns.")
    headers = tuple(c.text.strip() for c in header)
    kept, asides = _parted(headers, body, notes)
    told = (*notes, *_header_notes(headers, kept), *_unread(kept))
    return Table(headers, kept, told, asides=asides)


def _below_titles(rows: Numbered, notes: list[str]) -> Numbered:
    """Without lines that hold one cell above the wider line of the headers."""

    def filled(row: list[Cell]) -> int:
        return sum(bool(c.text.strip()) for c in row)

    for skipped in range(1, min(TITLE_LINES, len(rows) - 1) + 1):
        if filled(rows[skipped - 1][1]) > 1:
            return rows
        if filled(rows[skipped][1]) > 2:
            title = next(c.text.strip() for c in rows[skipped - 1][1] if c.text.strip())
            row = rows[skipped][0]
            notes.append(f"“{title}” was read as a title; the headers are in row {row}.")
            return rows[skipped:]
    return rows


def _parted(
    headers: tuple[str, ...], body: Numbered, notes: list[str]
) -> tuple[tuple[Row, ...], tuple[Aside, ...]]:
    """The rows, and those that are likely no entries."""
    rows: list[Row] = []
    asides: list[Aside] = []
    texts = [[c.text.strip() for c in cells] for _, cells in body]
    heads = set(group_headings(texts))
    for at, (number, cells) in enumerate(body):
        row = Row(number, tuple(cells))
        why = likely_aside(texts[at], headers) or ("the heading of a group" if at in heads else "")
        if why:
            asides.append(Aside(row, why))
        else:
            rows.append(row)
    notes += _left_out(asides)
    return tuple(rows), tuple(asides)


def _left_out(asides: list[Aside]) -> Iterator[str]:
    """One line for all rows that look alike."""
    for why in dict.fromkeys(aside.why for aside in asides):
        numbers = [aside.row.number for aside in asides if aside.why == why]
        if len(numbers) == 1:
            yield f"Row {numbers[0]} looks like {why} and is left out."
        else:
            yield f"Rows {ranges(numbers)} each look like {why} and are left out."


def _unread(rows: tuple[Row, ...]) -> Iterator[str]:
    lost = [row.number for row in rows if any("\ufffd" in c.text for c in row.cells)]
    if lost:
        numbers = ", ".join(map(str, lost[:5])) + ("…" if len(lost) > 5 else "")
        yield f"Row {numbers}: letters that could not be read stand as \ufffd; save as UTF-8."


def _header_notes(headers: tuple[str, ...], rows: tuple[Row, ...]) -> Iterator[str]:
    seen: set[str] = set()
    for header in headers:
        name = header.casefold()
        if header and name in seen:
            yield f"Two columns are called “{header}”; the first is used."
        seen.add(name)
    wide = [row.number for row in rows if any(c.text.strip() for c in row.cells[len(headers) :])]
    if wide:
        numbers = ", ".join(map(str, wide[:5])) + ("…" if len(wide) > 5 else "")
        yield f"Row {numbers}: more cells than headers; the extra ones are left out."
