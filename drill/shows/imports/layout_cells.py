"""What the layouts of coordinate sheets share: cells that remember where they stood."""

from __future__ import annotations

import re
from collections.abc import Container, Iterable
from dataclasses import replace

from bandops.lib.imports.tables import EMPTY, Cell, Numbered, Row, Table
from drill.shows.imports.coordinate_columns import COLUMNS, OF_FILE, key_of

Cells = dict[str, Cell]
ORDER = tuple(column.key for column in COLUMNS)
LABEL_WORD = re.compile(r"(set|page|picture|dot|place|spot)\b\s*[:#]?\s*(?=\S)", re.IGNORECASE)


def keys_of(cells: list[Cell]) -> dict[int, str]:
    """Position -> key of the column it names; a key may come more than once."""
    found = ((position, key_of(cell.text)) for position, cell in enumerate(cells))
    return {position: key for position, key in found if key}


def filled(cells: Iterable[Cell]) -> list[tuple[int, Cell]]:
    return [(n, replace(c, text=c.text.strip())) for n, c in enumerate(cells) if c.text.strip()]


def moved(cell: Cell, row: int, column: str) -> Cell:
    return replace(cell, text=cell.text.strip(), row=row, column=column)


def fact_of(number: int, cells: list[Cell]) -> tuple[str, Cell] | None:
    """“Show: its name”, in one cell or two."""
    full = filled(cells)
    if len(full) == 1:
        name, colon, value = full[0][1].text.partition(":")
        key = key_of(name) if colon else None
        cell = replace(full[0][1], text=value.strip())
    elif len(full) == 2:
        key, cell = key_of(full[0][1].text.rstrip(": ")), full[1][1]
    else:
        return None
    if key not in OF_FILE or not cell.text:
        return None
    return key, moved(cell, number, key)


def facts_of(rows: Numbered, notes: list[str]) -> Cells:
    """What the lines above a table say of all of it; a lone title names the show."""
    facts: Cells = {}
    title = None
    for number, cells in rows:
        fact = fact_of(number, cells)
        full = filled(cells)
        if fact is not None:
            facts[fact[0]] = fact[1]
        elif len(full) == 1 and full[0][0] == 0 and title is None:
            title = moved(full[0][1], number, "show")
    if "show" not in facts and title is not None:
        facts["show"] = title
        notes.append(f"“{title.text}” above the table was read as the name of the show.")
    return facts


def left_out(head: list[Cell], used: Container[int], notes: list[str]) -> None:
    """Say once which columns are not read."""
    names = [cell.text for position, cell in filled(head) if position not in used]
    note = f"Columns left out: {', '.join(names)}."
    if names and note not in notes:
        notes.append(note)


def made_table(found: list[tuple[int, Cells]], notes: list[str]) -> Table | None:
    """The usual table of one row a dot and set; None for no rows."""
    keys = [key for key in ORDER if any(key in cells for _, cells in found)]
    titles = {column.key: column.title for column in COLUMNS}
    rows = [Row(number, tuple(cells.get(key, EMPTY) for key in keys)) for number, cells in found]
    return Table(tuple(titles[key] for key in keys), tuple(rows), tuple(notes)) if rows else None
