"""Sheets of coordinates that are not one row a dot and set, made so.

Told by what stands in them: blocks (a heading with a dot, then its sets), wide tables (one row
a dot and columns for each set, or the other way round), and lines above a table that name the
show. Every cell remembers its row and column in the file.
"""

from __future__ import annotations

from dataclasses import replace

from bandops.lib.imports.asides import is_totals
from bandops.lib.imports.headers import table_of_rows
from bandops.lib.imports.tables import EMPTY, Cell, Numbered, Row, Slip, Table
from drill.shows.imports.block_layout import is_block, names_dot, read_blocks
from drill.shows.imports.coordinate_columns import OF_POINT
from drill.shows.imports.layout_cells import LABEL_WORD, facts_of, filled, keys_of, left_out, moved
from drill.shows.imports.respelling import respelled
from drill.shows.imports.wide_layout import Head, heads_of, read_wide

HEAD_LINES = 10
"""lines at the top of a file among which headers are looked for that are not quite right"""


def table_of(rows: Numbered, notes: list[str]) -> Table | None:
    """One row a dot and set; None where the file is so already, or is none of these."""
    rows, slips = _blocks_mended(rows)
    table = _table_of(rows, notes)
    return table and replace(table, slips=(*slips, *table.slips))


def _table_of(rows: Numbered, notes: list[str]) -> Table | None:
    at = next((n for n, (_, cells) in enumerate(rows) if _is_head(cells)), None)
    if at is None:
        tried = (_misspelled(rows, n, notes) for n in range(min(HEAD_LINES, len(rows))))
        return next((table for table in tried if table is not None), None)
    keys = keys_of(rows[at][1])
    if _is_long(keys):
        return _long(rows, at, notes)
    if is_block(rows, at):
        body = at + 1
        table = read_blocks(rows, notes)
        if not set(keys.values()) & set(OF_POINT):
            return table  # on its side: each line begins with its own header
    else:
        heads, body = heads_of(rows, at)
        if not any(head.label for head in heads):
            return None
        table = _wide(rows, at, heads, body, notes)
    return table and replace(table, slips=_overfull(rows, at, body))


def _overfull(rows: Numbered, at: int, body: int) -> tuple[Slip, ...]:
    """Rows with more figures than headers: a number with a comma is two cells of a file whose
    columns are separated by commas, and all behind it stands one column too far."""
    width = max(len(cells) for _, cells in rows[at:body])
    found = (_too_many(number, cells, width) for number, cells in rows[body:])
    return tuple(slip for slip in found if slip)


def _too_many(number: int, cells: list[Cell], width: int) -> Slip | None:
    beyond = [cell.text.strip() for cell in cells[width:]]
    if not beyond or not all(text.isdigit() for text in beyond):
        return None
    message = f"This row has {len(cells)} cells and the headers {width}. If a number with a comma "
    message += "was taken for two, write 16.5, or separate the columns by semicolons; if not, "
    return Slip(number, "", message + "give the last column a header.")


def _wide(rows: Numbered, at: int, heads: list[Head], body: int, notes: list[str]) -> Table | None:
    left_out(rows[body - 1][1], {head.position for head in heads}, notes)
    facts = facts_of(rows[:at], notes)
    return read_wide(facts, heads, rows[body:], notes)


def _blocks_mended(rows: Numbered) -> tuple[Numbered, list[Slip]]:
    """The rows with the headers of each block as they should be, and what is wrong in them."""
    found: list[Slip] = []
    mended = list(rows)
    for n in range(1, len(rows)):
        if names_dot(rows[n - 1][1]) and not is_block(rows, n):
            number, cells = rows[n]
            made, slips = respelled(number, cells)
            if slips and is_block([rows[n - 1], (number, made)], 1):
                mended[n] = (number, made)
                found += slips
    return mended, found


def _misspelled(rows: Numbered, at: int, notes: list[str]) -> Table | None:
    """A wide table below a line of headers that are not quite right; a table of one row a dot
    and set needs no such help, as its columns are chosen on the page."""
    number, cells = rows[at]
    made, slips = respelled(number, cells)
    if not slips or not _is_head(made) or _is_long(keys_of(made)):
        return None
    mended = [*rows[:at], (number, made), *rows[at + 1 :]]
    heads, body = heads_of(mended, at)
    if not any(head.label for head in heads):
        return None
    table = _wide(mended, at, heads, body, notes)
    return table and replace(table, slips=tuple(slips))


def _is_head(cells: list[Cell]) -> bool:
    """A line of headers: a set or a dot, and beside it coordinates or many more columns."""
    keys = keys_of(cells)
    if not {"set", "dot"} & set(keys.values()):
        return False
    full = len(filled(cells))
    return full > 2 or (full == 2 and len(keys) == 1 and 0 in keys and _names_a_set(cells[1]))


def _names_a_set(cell: Cell) -> bool:
    """A lone column beside the dots: “Set 1”, and not the label of “Dot 1-1”."""
    return LABEL_WORD.match(cell.text.strip()) is not None


def _is_long(keys: dict[int, str]) -> bool:
    named = set(keys.values())
    return {"set", "dot"} <= named and bool(named & set(OF_POINT))


def _long(rows: Numbered, at: int, notes: list[str]) -> Table | None:
    """The usual table, with what stands above it and the figure of a closing total."""
    if len(rows) - at < 2:
        return None
    keys = keys_of(rows[at][1])
    facts = facts_of(rows[:at], notes) if "show" not in keys.values() else {}
    facts = {key: cell for key, cell in facts.items() if key not in keys.values()}
    closing = _closing_total(rows[-1], keys)
    slips = _overfull(rows, at, at + 1)
    if not facts and closing is None and not slips:
        return None
    table = table_of_rows("", rows[at:], notes)
    extra = tuple(facts)
    width = len(table.headers)
    tail = tuple(facts[key] for key in extra)
    made = [_with_facts(row, width, tail) for row in table.rows]
    asides = [
        replace(aside, row=_with_facts(aside.row, width, tail))
        for aside in table.asides
        if closing is None or aside.row.number != rows[-1][0]
    ]
    headers = (*table.headers, *extra)
    if closing is not None:
        if "total" not in keys.values():
            headers = (*headers, "total counts")
        where = {**dict(enumerate(extra, width)), **keys}
        total = next((n for n, key in where.items() if key == "total"), len(headers) - 1)
        cells = [facts.get(where.get(n, ""), EMPTY) for n in range(len(headers))]
        cells[total] = closing
        made.append(Row(rows[-1][0], tuple(cells)))
    return Table(headers, tuple(made), table.notes, slips, tuple(asides))


def _with_facts(row: Row, width: int, facts: tuple[Cell, ...]) -> Row:
    return Row(row.number, (*_padded(row.cells, width), *facts))


def _padded(cells: tuple[Cell, ...], width: int) -> tuple[Cell, ...]:
    return (*cells[:width], *(EMPTY,) * (width - len(cells)))


def _closing_total(row: tuple[int, list[Cell]], keys: dict[int, str]) -> Cell | None:
    """The figure under the counts of a closing line of totals."""
    number, cells = row
    if not is_totals([cell.text.strip() for cell in cells]):
        return None
    for wanted in ("counts", "total"):
        for position, key in keys.items():
            if key == wanted and position < len(cells) and cells[position].text.strip().isdigit():
                return moved(cells[position], number, wanted)
    return None
