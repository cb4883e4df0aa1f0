"""Ranks and spots as a grid with names in its cells: ranks down or across, or a block a rank."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass, replace

from bandops.lib.imports.asides import is_totals
from bandops.lib.imports.columns import match_headers
from bandops.lib.imports.headers import TITLE_LINES
from bandops.lib.imports.tables import EMPTY, Cell, Numbered, Row, Table
from bandops.lib.names import plain
from roster.ranks.imports.holder_cells import NOBODY, SIGNS, read_holder
from roster.ranks.imports.rank_columns import COLUMNS
from roster.ranks.imports.standings import alternate_named

HEADERS = ("rank", "spot", "holder")
SPOT_NUMBER = re.compile(r"(?:spot|no\.?|number|#)?\s*#?\s*([0-9]{1,3})", re.IGNORECASE)
RANK_NAMED = re.compile(
    r"(?:rank|line)\s+\S.{0,19}|\S{1,8}\s+(?:rank|line)|r\s?[0-9]{1,3}", re.IGNORECASE
)
RANK_SHORT = re.compile(r"[^\W\d_]{1,2}|[0-9]{1,2}(?:st|nd|rd|th)?")
RANKS_FIRST, SPOTS_FIRST = ("rank", "line"), ("spot", "number", "no", "place", "position")
ALTERNATE = re.compile(r"\s*[(\[]\s*alt(?:ernate)?\.?\s*[)\]]\s*$", re.IGNORECASE)
FEWEST = 2
"""spots, and ranks across, that make a grid"""


@dataclass(frozen=True)
class Place:
    """One cell of the grid: its rank and spot as the file writes them, and who stands there."""

    row: int
    rank: Cell
    spot: Cell
    holder: Cell


def table_of(rows: Numbered, notes: list[str]) -> Table | None:
    """One row a spot; None where the file is no grid."""
    for at in range(min(TITLE_LINES + 1, len(rows) - 1)):
        if any(len(_filled(cells)) > 1 for _, cells in rows[:at]):
            break
        places = _grid(rows[at:])
        if places:
            return _made(places, rows[:at], notes)
    places = _blocks(rows)
    return _made(places, _titles(rows), notes) if places else None


def _made(places: list[Place], above: Numbered, notes: list[str]) -> Table:
    title = next((c.text.strip() for _, cells in above for c in cells if c.text.strip()), "")
    made = [f"“{title}” was read as a title."] if title else []
    ranks = len({p.rank.text for p in places})
    made.append(f"Read as a grid of {ranks} rank{'s' if ranks > 1 else ''}, a name in each cell.")
    alternates = [p for p in places if ALTERNATE.search(p.holder.text)]
    if alternates:
        names = ", ".join(ALTERNATE.sub("", p.holder.text).strip() for p in alternates)
        made.append(f"Marked as alternates, and seated where they are: {names}.")
    leaders = [p.holder.text for p in places if read_holder(p.holder.text).mark.strip(SIGNS)]
    if leaders:
        made.append(f"Marked as leaders, and named so: {', '.join(leaders)}.")
    inside = _last_filled(places)
    rows = tuple(
        Row(p.row, (p.rank, p.spot, _holder(p.holder, n < inside[p.rank.text])))
        for n, p in enumerate(places)
    )
    return Table(HEADERS, rows, (*notes, *made))


def _last_filled(places: list[Place]) -> dict[str, int]:
    """Rank -> the place of its last spot with anything in it; alternates stand behind."""
    last = {place.rank.text: -1 for place in places}
    for n, place in enumerate(places):
        if place.holder.text and alternate_named(place.spot.text) is None:
            last[place.rank.text] = n
    return last


def _holder(cell: Cell, is_inside: bool) -> Cell:
    """Whose name it is, without a mark of an alternate behind it. An empty cell before others of
    its rank is an open spot; one behind them only says that the rank is shorter."""
    name = ALTERNATE.sub("", cell.text).strip()
    is_open = read_holder(name).open or (not name and is_inside)
    return replace(cell, text=NOBODY if is_open else name)


def _filled(cells: Iterable[Cell]) -> list[tuple[int, str]]:
    return [(n, c.text.strip()) for n, c in enumerate(cells) if c.text.strip()]


def _spot_number(text: str) -> str:
    """The number of a spot, or an alternate's standing as it is written; empty for neither."""
    match = SPOT_NUMBER.fullmatch(text.strip())
    if match:
        return match[1]
    return "" if alternate_named(text) is None else text.strip()


def _is_rank(text: str) -> bool:
    return bool(RANK_NAMED.fullmatch(text) or RANK_SHORT.fullmatch(text))


def _grid(rows: Numbered) -> list[Place]:
    """A line of spots above and ranks before it, or the other way round; nothing for neither."""
    head = _filled(rows[0][1])
    corner = head[0][1] if head and head[0][0] == 0 else ""
    across = [(n, text) for n, text in head if n > 0]
    body = [row for row in rows[1:] if not is_totals([c.text.strip() for c in row[1]])]
    before = [c[0].text.strip() for _, c in body if c and c[0].text.strip()]
    if len(across) < FEWEST or not before or _is_usual([text for _, text in head]):
        return []
    ranks_first = _ranks_first(corner, [text for _, text in across], before)
    return [] if ranks_first is None else _places(across, body, ranks_first=ranks_first)


def _ranks_first(corner: str, above: list[str], before: list[str]) -> bool | None:
    """Whether ranks stand before the lines and spots above; None where it is no grid. Where
    both are numbers the corner tells, or a word such as “Rank 4”; else ranks stand before."""
    word = next(iter(plain(corner).split()), "")
    if word in RANKS_FIRST or (not word and _named(before)):
        return True if _numbers(above) else None
    if word in SPOTS_FIRST or (not word and _named(above)):
        return False if _numbers(before) else None
    if word:
        return None
    if _numbers(above) and all(map(_is_rank, before)):
        return True
    return False if _numbers(before) and all(map(_is_rank, above)) else None


def _numbers(texts: list[str]) -> bool:
    return all(map(_spot_number, texts))


def _named(texts: list[str]) -> bool:
    return all(RANK_NAMED.fullmatch(text) for text in texts)


def _is_usual(head: list[str]) -> bool:
    """True for headers of the usual table."""
    return len(match_headers(head, COLUMNS)) > 1


def _places(across: list[tuple[int, str]], body: Numbered, *, ranks_first: bool) -> list[Place]:
    """The cells row by row; a line without its rank or spot has none."""
    found: list[Place] = []
    for number, cells in body:
        own = cells[0].text.strip() if cells else ""
        for position, title in across if own else ():
            rank, spot = (own, title) if ranks_first else (title, own)
            found.append(_place(number, rank, spot, _at(cells, position), title))
    return found


def _place(number: int, rank: str, spot: str, cell: Cell, title: str) -> Place:
    label = Cell(_spot_number(spot) or spot, None, number, title)
    held = replace(cell, text=cell.text.strip(), row=number, column=title)
    return Place(number, Cell(rank, None, number, title), label, held)


def _at(cells: list[Cell], position: int) -> Cell:
    return cells[position] if position < len(cells) else EMPTY


def _heading(cells: list[Cell]) -> str:
    """The rank that a line of its own names."""
    full = _filled(cells)
    named = len(full) == 1 and RANK_NAMED.fullmatch(full[0][1].rstrip(":"))
    return full[0][1].rstrip(":") if named else ""


def _titles(rows: Numbered) -> Numbered:
    first = next((n for n, (_, cells) in enumerate(rows) if _heading(cells)), 0)
    return rows[:first]


def _blocks(rows: Numbered) -> list[Place]:
    """Ranks under one another, each below a line that names it: a line of spots with the names
    below it, or a line a spot with its name behind it. Nothing where a line is neither."""
    found: list[Place] = []
    rank, numbers = "", dict[int, str]()
    for number, cells in rows[len(_titles(rows)) :]:
        heading, full = _heading(cells), _filled(cells)
        spots = {n: _spot_number(text) for n, text in full}
        if heading:
            rank, numbers = heading, {}
        elif not rank:
            return []
        elif all(spots.values()) and len(spots) >= FEWEST:
            numbers = spots
        elif numbers:
            found += [
                _place(number, rank, spot, _at(cells, n), f"spot {spot}")
                for n, spot in numbers.items()
            ]
        elif len(full) <= FEWEST and spots.get(full[0][0]):
            held = _at(cells, full[1][0]) if len(full) == FEWEST else EMPTY
            found.append(_place(number, rank, spots[full[0][0]], held, "holder"))
        else:
            return []
    return found
