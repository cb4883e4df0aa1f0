"""Files that give a member's first and last name in two columns, read as one."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from bandops.lib.imports.columns import match_headers
from bandops.lib.imports.plan import Column
from bandops.lib.imports.tables import Cell, Row, Table

WHOLE = ("member", "holder")
"""keys of the columns that name a member"""
HALVES = (
    Column("first", "first name", "", False, ("first", "given name", "firstname")),
    Column("last", "last name", "", False, ("last", "family name", "surname", "lastname")),
)


def with_whole_names(table: Table, columns: Sequence[Column]) -> Table:
    """The table with one more column, “Last, First”, where the import wants one name and the file
    has two columns; else as it is."""
    wanted = next((column for column in columns if column.key in WHOLE), None)
    halves = match_headers(table.headers, HALVES)
    named = match_headers(table.headers, columns)
    if wanted is None or wanted.key in named or len(halves) < len(HALVES):
        return table
    if set(halves.values()) & set(named.values()):
        return table
    first, last = halves["first"], halves["last"]
    rows = tuple(
        Row(row.number, (*_padded(row, len(table.headers)), _whole(table, row, first, last)))
        for row in table.rows
    )
    note = f"“{table.headers[first]}” and “{table.headers[last]}” are read as one name."
    headers = (*table.headers, wanted.title)
    return replace(table, headers=headers, rows=rows, notes=(*table.notes, note))


def _padded(row: Row, width: int) -> tuple[Cell, ...]:
    return tuple(row.cell(position) for position in range(width))


def _whole(table: Table, row: Row, first: int, last: int) -> Cell:
    given, family = row.cell(first).text.strip(), row.cell(last).text.strip()
    text = ", ".join(filter(None, (family, given)))
    cell = row.cell(last)
    return replace(cell, text=text, oddity=None, column=cell.column or table.headers[last])
