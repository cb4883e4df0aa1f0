"""Coordinates in blocks: a line that names the dot, then its sets, upright or on its side."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import replace

from bandops.lib.imports.asides import is_totals
from bandops.lib.imports.tables import Cell, Numbered, Table
from drill.shows.imports.coordinate_columns import OF_POINT, key_of
from drill.shows.imports.layout_cells import (
    Cells,
    fact_of,
    filled,
    keys_of,
    left_out,
    made_table,
    moved,
)

DOT_WORD = re.compile(r"(?:dot|place|spot|label)\b\s*[:#]?\s*(.*)", re.IGNORECASE)


def is_block(rows: Numbered, at: int) -> bool:
    """Sets with coordinates and no dot, below a line that names one."""
    keys = keys_of(rows[at][1])
    down = _turned(rows, at)
    named = list(keys.values())
    upright = (
        "set" in named
        and "dot" not in named
        and (len(named) == len(set(named)) or (at > 0 and names_dot(rows[at - 1][1])))
        and ({"x", "y"} <= set(named) or "coordinate" in named)
    )
    return (upright or down) and at > 0 and _heading(rows[at - 1][1]) is not None


def _heading(cells: list[Cell]) -> Cell | None:
    """The dot that a line of one or two cells names."""
    full = filled(cells)
    if not full or len(full) > 2 or full[0][0] > 0:
        return None
    first = full[0][1]
    match = DOT_WORD.fullmatch(first.text)
    if match is None:
        return first if len(full) == 1 else None
    if match[1]:
        return replace(first, text=match[1])
    return full[1][1] if len(full) == 2 else None


def names_dot(cells: list[Cell]) -> bool:
    """“Dot 1-1”, and no bare title that may stand above columns of several dots."""
    full = filled(cells)
    return bool(full) and full[0][0] == 0 and bool(DOT_WORD.match(full[0][1].text))


def _turned(rows: Numbered, at: int) -> bool:
    """A block lying on its side: a line for the sets, one for each coordinate."""
    names = [key_of(cells[0].text) if cells else None for _, cells in rows[at : at + 6]]
    if not names or names[0] != "set":
        return False
    block = names[: next((n for n, name in enumerate(names) if name is None), len(names))]
    return {"x", "y"} <= set(block) or "coordinate" in block


def read_blocks(rows: Numbered, notes: list[str]) -> Table | None:
    """Blocks one below the other; the headers may stand in the first alone."""
    reader = _Reader(rows, notes)
    n = 0
    while n < len(rows):
        n += reader.take(n)
    dots = len({cells["dot"].row for _, cells in reader.found})
    notes.append(f"Read as one block per dot: {dots} blocks.")
    return made_table(reader.found, notes)


class _Reader:
    """Goes down the lines and knows whose block they are in."""

    def __init__(self, rows: Numbered, notes: list[str]) -> None:
        self.rows, self.notes = rows, notes
        self.known: Cells = {}
        self.head: list[Cell] = []
        self.found: list[tuple[int, Cells]] = []

    def take(self, n: int) -> int:
        """Read a line, or a block on its side; returns how many lines that were."""
        number, cells = self.rows[n]
        fact = fact_of(number, cells)
        if fact is not None:
            self.known[fact[0]] = fact[1]
        elif "dot" in self.known and _turned(self.rows, n):
            lines = _lying(self.rows, n)
            self.found += [(number, {**self.known, **line}) for line in _upright(lines)]
            return len(lines)
        elif _is_block_head(cells):
            self.head = cells
            self._note_doubles(cells)
            left_out(cells, keys_of(cells), self.notes)
        elif _begins_block(self.rows, n, bool(self.head)):
            heading = _heading(cells)
            if heading is not None:
                self.known["dot"] = moved(heading, number, "dot")
        else:
            self._other(number, cells)
        return 1

    def _note_doubles(self, head: list[Cell]) -> None:
        keys = list(keys_of(head).values())
        for key in sorted({key for key in keys if keys.count(key) > 1}):
            note = f"Two columns are called “{key}”; the first is used."
            if note not in self.notes:
                self.notes.append(note)

    def _other(self, number: int, cells: list[Cell]) -> None:
        """A set, or a line with one cell: the show's name above the blocks, else a remark."""
        full = filled(cells)
        if "dot" in self.known and len(full) > 1:
            self.found += _block_line(number, cells, self.head, self.known)
        elif len(full) == 1 and not self.found and "show" not in self.known:
            self.known["show"] = moved(full[0][1], number, "show")
            self.notes.append(f"“{full[0][1].text}” was read as the name of the show.")
        else:
            self.notes.append(f"Row {number} is in no block, so it is left out.")


def _is_block_head(cells: list[Cell]) -> bool:
    named = set(keys_of(cells).values())
    return "set" in named and bool(named & set(OF_POINT))


def _begins_block(rows: Numbered, n: int, has_head: bool) -> bool:
    """A heading with headers or lines of sets below it."""
    cells = rows[n][1]
    heading = _heading(cells)
    if heading is None or is_totals([c.text.strip() for c in cells]):
        return False
    if DOT_WORD.fullmatch(filled(cells)[0][1].text):
        return True
    if n + 1 == len(rows):
        return False
    below = rows[n + 1][1]
    return "set" in keys_of(below).values() or (has_head and len(filled(below)) > 2)


def _block_line(
    number: int, cells: list[Cell], head: list[Cell], known: Cells
) -> Iterator[tuple[int, Cells]]:
    """A set of a block, or its closing total."""
    line = {
        key: moved(cells[position], number, head[position].text.strip())
        # The first of two columns of one name is written last.
        for position, key in reversed(keys_of(head).items())
        if position < len(cells)
    }
    if is_totals([c.text.strip() for c in cells]):
        figure = next((line[k] for k in ("counts", "total") if k in line and line[k].text), None)
        if figure is not None:
            yield number, {**known, "total": figure}
    else:
        yield number, {**known, **line}


def _lying(rows: Numbered, at: int) -> Numbered:
    """The lines of a block that lies on its side."""
    end = at + 1
    while end < len(rows) and rows[end][1] and key_of(rows[end][1][0].text) not in (None, "set"):
        if fact_of(*rows[end]) is not None or DOT_WORD.fullmatch(rows[end][1][0].text.strip()):
            break
        end += 1
    return rows[at:end]


def _upright(lines: Numbered) -> Iterator[Cells]:
    width = max(len(cells) for _, cells in lines)
    sets = lines[0][1]
    for position in range(1, width):
        label = sets[position].text.strip() if position < len(sets) else ""
        line = {
            str(key_of(cells[0].text)): moved(
                cells[position], number, f"set {label}" if label else f"column {position + 1}"
            )
            for number, cells in lines
            if position < len(cells)
        }
        if any(cell.text for cell in line.values()):
            yield line
