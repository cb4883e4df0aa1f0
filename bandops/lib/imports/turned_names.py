"""Columns whose heading says that the last name comes first, in cells that have no comma."""

from __future__ import annotations

import re
from dataclasses import replace

from bandops.lib.imports.tables import Cell, Row, Table
from bandops.lib.names import plain
from bandops.lib.person_names import COMMAS, PARTICLES

LAST_FIRST = re.compile(r"\blast(?:\s*name)?\W+(?:and\W+)?first(?:\s*name)?\b", re.IGNORECASE)


def says_last_first(header: str) -> bool:
    """“Name (Last, First)”, “Student (Last First)”, “Last, First”."""
    return LAST_FIRST.search(header) is not None


def with_commas(table: Table) -> Table:
    """The table with a comma behind the last name, where a heading says that it comes first."""
    turned = {n for n, header in enumerate(table.headers) if says_last_first(header)}
    if not turned:
        return table
    return replace(table, rows=tuple(_with_commas(row, turned) for row in table.rows))


def _with_commas(row: Row, turned: set[int]) -> Row:
    cells = (_turned(c) if n in turned else c for n, c in enumerate(row.cells))
    return replace(row, cells=tuple(cells))


def _turned(cell: Cell) -> Cell:
    words = cell.text.split()
    if len(words) < 2 or COMMAS.search(cell.text):
        return cell
    ends = 1
    while ends < len(words) - 1 and plain(words[ends - 1]) in PARTICLES:
        ends += 1
    return replace(cell, text=f"{' '.join(words[:ends])}, {' '.join(words[ends:])}")
