"""Lists of absences as people write them: a title and no headings, names from the first line on."""

from __future__ import annotations

from dataclasses import replace

from bandops.lib.imports.columns import match_headers
from bandops.lib.imports.headers import table_of_rows
from bandops.lib.imports.holding import looks_like_name
from bandops.lib.imports.tables import EMPTY, Cell, Numbered, Table
from drill.absences.core.phrases.reading import tells_of_absence
from drill.absences.imports.absence_columns import COLUMNS

FIRST_LINES = 4


def list_of_absences(rows: Numbered, notes: list[str]) -> Table | None:
    """The table of a list whose columns, or some of them, have no headings; None for another."""
    texts = [[cell.text.strip() for cell in cells] for _, cells in rows[:FIRST_LINES]]
    if any(match_headers(line, COLUMNS) for line in texts):
        return _with_last_column(rows, notes) if match_headers(texts[0], COLUMNS) else None
    return _without_headings(rows, texts, notes)


def _with_last_column(rows: Numbered, notes: list[str]) -> Table | None:
    """The table where rows go on beyond the last heading."""
    (number, head), *body = rows
    width = max((len(cells) for _, cells in body), default=0)
    if width != len(head) + 1:
        return None
    wider: list[Cell] = [*head, EMPTY]
    table = table_of_rows("The list", [(number, wider), *body], notes)
    return replace(table, notes=tuple(notes))


def _without_headings(rows: Numbered, texts: list[list[str]], notes: list[str]) -> Table | None:
    """The table of a list in which nothing stands above the names but a title."""
    titles = 0 if _is_entry(texts[0]) else 1
    entries = [line for line in texts[titles:] if _is_entry(line)]
    if not entries or len(entries) < len(texts) - titles or not _plain_title(texts[:titles]):
        return None
    width = max(len(cells) for _, cells in rows[titles:])
    head: list[Cell] = [EMPTY] * width
    notes.append("The list has no headings: the columns were read by what is in them.")
    table = table_of_rows("The list", [(0, head), *rows[titles:]], [])
    return replace(table, notes=tuple(notes), headers=("",) * width)


def _is_entry(line: list[str]) -> bool:
    """A name and, beside it, at most something that tells of an absence."""
    filled = [text for text in line if text]
    names = [text for text in filled if looks_like_name(text) and not tells_of_absence(text)]
    rest = [text for text in filled if text not in names]
    return len(names) == 1 and all(tells_of_absence(text) for text in rest)


def _plain_title(lines: list[list[str]]) -> bool:
    """Nothing, or one cell that is the list's title and no heading of several columns."""
    return all(sum(map(bool, line)) <= 1 for line in lines)
