"""Coordinates in wide tables: one row a dot and columns for each set, or the other way round."""

from __future__ import annotations

import re
from dataclasses import dataclass

from bandops.lib.imports.asides import is_totals
from bandops.lib.imports.tables import EMPTY, Cell, Numbered, Table
from drill.shows.imports.coordinate_columns import OF_POINT, OF_SET, POINT_NAMES, key_of
from drill.shows.imports.layout_cells import LABEL_WORD, Cells, filled, keys_of, made_table, moved

COUNTS_BESIDE = re.compile(r"(.*\S)\s*\((\d{1,4})(?:\s*counts?)?\)", re.IGNORECASE)
EDGES = " \t:;,._/–-"


@dataclass(frozen=True)
class Head:
    """A column: of the row itself, or (with a label) of one set or dot."""

    position: int
    key: str
    label: str
    title: str
    counts: str = ""


def heads_of(rows: Numbered, at: int) -> tuple[list[Head], int]:
    """The columns, and where the rows below them begin."""
    cells = rows[at][1]
    keys = keys_of(cells)
    if {"x", "y", "coordinate"} & set(keys.values()):
        above = rows[at - 1][1] if at else []
        return _two_lines(above, cells, keys), at + 1
    if at + 1 < len(rows):
        below = keys_of(rows[at + 1][1])
        if set(below.values()) & {"x", "y"} and not set(below.values()) & {"set", "dot"}:
            return _two_lines(cells, rows[at + 1][1], {**keys, **below}), at + 2
    return _one_line(cells), at + 1


def _two_lines(labels: list[Cell], cells: list[Cell], keys: dict[int, str]) -> list[Head]:
    """Labels above, each over its x and y."""
    heads = []
    label, counts = "", ""
    for position in range(max(len(labels), len(cells))):
        text = labels[position].text.strip() if position < len(labels) else ""
        key = keys.get(position)
        # A title above the first columns is no label of those behind it.
        if text and key_of(text) is None and key in OF_POINT:
            label, counts = _label(text)
        if key in OF_POINT and label:
            heads.append(Head(position, key, label, f"{label}, {key}", counts))
        elif key is not None and key not in OF_POINT:
            heads.append(Head(position, key, "", key))
    return heads


def _one_line(cells: list[Cell]) -> list[Head]:
    """“Set 2 x”, or “Set 2” over a coordinate in words."""
    own: list[Head] = []
    paired: list[Head] = []
    alone: list[Head] = []
    for position, cell in filled(cells):
        text, key = cell.text, key_of(cell.text)
        rest, point = _ending(text)
        if key is not None and key not in OF_POINT:
            own.append(Head(position, key, "", text))
        elif point is not None and rest:
            paired.append(Head(position, point, *_titled(rest, text)))
        elif key is None:
            alone.append(Head(position, "coordinate", *_titled(text, text)))
    if not paired:
        said = [head for head in alone if LABEL_WORD.match(head.title)]
        paired = said or alone
    return own + paired


def _titled(rest: str, text: str) -> tuple[str, str, str]:
    label, counts = _label(rest)
    return label, text, counts


def _ending(text: str) -> tuple[str, str | None]:
    """A label with x, y or another name of a coordinate behind or before it."""
    folded = text.casefold()
    for name, key in POINT_NAMES:
        if folded.endswith(name) and folded[: -len(name)][-1:] in tuple(EDGES):
            return text[: -len(name)].strip(EDGES), key
        if folded.startswith(name) and folded[len(name) :][:1] in tuple(EDGES):
            return text[len(name) :].strip(EDGES), key
    return text, None


def _label(text: str) -> tuple[str, str]:
    """A set or dot without the word before it, and the counts that stand behind it."""
    match = COUNTS_BESIDE.fullmatch(text)
    text, counts = (match[1], match[2]) if match else (text, "")
    return LABEL_WORD.sub("", text, count=1).strip(EDGES), counts


@dataclass
class Group:
    """The columns of one set or dot; ``said`` is what rows of counts or tempo say of a set."""

    label: str
    title: str
    heads: list[Head]
    said: Cells

    def points(self, cells: list[Cell], number: int) -> Cells:
        """The group's coordinates in a row; nothing where all are empty."""
        found = {head.key: _under(head, cells, number) for head in self.heads}
        return found if any(cell.text for cell in found.values()) else {}


def _under(head: Head, cells: list[Cell], number: int) -> Cell:
    cell = cells[head.position] if head.position < len(cells) else EMPTY
    return moved(cell, number, head.title)


def _groups(heads: list[Head]) -> list[Group]:
    """A label that comes again with the same coordinate begins another group."""
    groups: list[Group] = []
    latest: dict[str, Group] = {}
    for head in heads:
        group = latest.get(head.label)
        if group is None or any(h.key == head.key for h in group.heads):
            group = latest[head.label] = Group(head.label, head.title, [], {})
            groups.append(group)
        group.heads.append(head)
        if head.counts:
            group.said["counts"] = Cell(head.counts, None, 0, head.title)
    return groups


def read_wide(facts: Cells, heads: list[Head], body: Numbered, notes: list[str]) -> Table | None:
    """One row a dot and set from a wide table; None when it has no rows."""
    own = [head for head in heads if not head.label]
    across = "dot" if any(head.key == "set" for head in own) else "set"
    down = "set" if across == "dot" else "dot"
    groups = _groups([head for head in heads if head.label])
    rows: list[tuple[int, list[Cell], Cells]] = []
    for number, cells in body:
        line = {head.key: _under(head, cells, number) for head in own}
        points = [group.points(cells, number) for group in groups]
        key = key_of(line[down].text)
        sums = any(sum(bool(cell.text) for cell in p.values()) > 1 for p in points)
        if across == "set" and key in OF_SET and not sums:
            for group, point in zip(groups, points, strict=True):
                group.said[key] = next((cell for cell in point.values() if cell.text), EMPTY)
        elif is_totals([cell.text.strip() for cell in cells]):
            notes.append(f"Row {number} looks like a line of totals and is left out.")
        elif any(cell.text for cell in line.values()) or any(points):
            rows.append((number, cells, line))
    label = {group.title: Cell(group.label, None, 0, group.title) for group in groups}
    found = [
        (number, {**facts, **group.said, **line, across: label[group.title], **at})
        for number, cells, line in rows
        for group in groups
        if (at := group.points(cells, number))
    ]
    what = "sets" if across == "set" else "dots"
    notes.append(f"Read as one row per {down}, with columns for {len(groups)} {what}.")
    return made_table(found, notes)
