"""Headers that are nearly those of a layout: read as meant, and told as slips to mend."""

from __future__ import annotations

import difflib
from dataclasses import replace

from bandops.lib.imports.tables import Cell, Slip
from bandops.lib.names import plain
from drill.shows.imports.coordinate_columns import NAMES, OF_POINT

NEAR = 0.75
"""how alike two words are, from 0 to 1; “plaec” and “place” are 0.8"""
LOOKED_FOR = ("set", "dot", *OF_POINT)


def respelled(number: int, cells: list[Cell]) -> tuple[list[Cell], list[Slip]]:
    """A line of headers in the names of its layout. Only what a layout cannot do without, and
    the line does not have, is looked for; a header with a figure is a label."""
    there = {NAMES.get(_plain(cell)) for cell in cells}
    made, slips = list(cells), []
    for position, cell in enumerate(cells):
        key, name = _meant(_plain(cell))
        if key is None or key in there or _plain(cell) in NAMES:
            continue
        there.add(key)
        text = cell.text.strip()
        made[position] = replace(cell, text=name)
        message = f"No column is called “{text}”; it is read as “{name}”. Write “{name}”."
        slips.append(Slip(number, text, message))
    return made, slips


def _plain(cell: Cell) -> str:
    return plain(cell.text)


def _meant(text: str) -> tuple[str | None, str]:
    if len(text) < 3 or any(c.isdigit() for c in text):
        return None, ""
    names = [name for name, key in NAMES.items() if key in LOOKED_FOR and len(name) > 2]
    near = difflib.get_close_matches(text, names, n=1, cutoff=NEAR)
    return (NAMES[near[0]], near[0]) if near else (None, "")
