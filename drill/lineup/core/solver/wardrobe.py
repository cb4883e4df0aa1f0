"""The columns and rows of spare pieces: who of those who march takes which size.

Only those stand in the model of whom some could be too many; everybody else can be dressed
whoever marches (``dressing.contested``). A wearer is a member and a kind: in no segment may they
march seats that ask for the kind without one of their columns, and each size has as many as there
are. Once it is decided who marches, sizes are a matching: no column is ever divided at.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from drill.lineup.core.dressing import contested, dress, sizes_of
from drill.lineup.core.problem import LineupProblem
from drill.lineup.core.rules import Facts
from drill.lineup.core.solver.arcs import Arcs, worn
from drill.lineup.core.solver.index import Bools, Ints
from drill.lineup.core.solver.rows import AT_MOST, NO_ROW, Family, Rows


@dataclass(frozen=True)
class Wardrobe:
    """What the columns of spare pieces say."""

    arc: Ints
    """arcs that a wearer needs a piece for; one of several kinds stands here for each"""
    wearer: Ints
    """whose"""
    column: Ints
    """all columns, wearer by wearer"""
    of: Ints
    """each one's wearer"""
    size: Ints
    """each one's size"""
    caps: Ints
    """size -> the row that bounds it"""
    count: Ints
    """size -> how many there are"""
    sizes: tuple[tuple[str, str], ...]
    """kind and name of each size"""
    members: frozenset[str]
    """keys of the members among the wearers"""
    rows: dict[tuple[str, str], Ints]
    """(member, kind) -> the rows that ask a piece of them, one a segment"""

    def fill(self, arcs: Ints, others: Ints) -> None:
        """Set the columns, in place, for those who march: as many dressed as can be."""
        others[self.column] = 0
        marching = np.unique(self.wearer[np.isin(self.arc, arcs)]).tolist()
        columns: dict[int, dict[int, int]] = {wearer: {} for wearer in marching}
        wanted = np.isin(self.of, marching)
        rows = (self.column[wanted], self.of[wanted], self.size[wanted])
        for column, wearer, size in zip(*(row.tolist() for row in rows), strict=True):
            columns[wearer][size] = column
        fits = {wearer: list(of) for wearer, of in columns.items()}
        taken = dress(fits, dict(enumerate(self.count.tolist())))[0]
        others[[columns[wearer][size] for wearer, size in taken.items()]] = 1


def add_wardrobe(
    rows: Rows, families: list[Family], problem: LineupProblem, arcs: Arcs, first: int
) -> Wardrobe | None:
    """The columns, from number ``first`` on, with their rows; None where nothing can be short."""
    if not arcs.people.lacks or not arcs.size:
        return None
    facts, found = Facts(problem), _Found()
    for kind in sorted({spare.kind for spare in problem.spares}):
        _add_kind(found, rows, families, problem, arcs, kind, sizes_of(facts, kind))
    if not found.sizes:
        return None
    column = first + np.arange(len(found.of))
    of, size = np.array(found.of, np.int64), np.array(found.size, np.int64)
    caps = rows.open(len(found.sizes), AT_MOST, 0)
    for row, count in zip(caps.tolist(), found.count, strict=True):
        rows.limit[row] = count
    rows.put(caps[size], column, 1)
    for wearer, asked in found.asked.items():
        mine = column[of == wearer]
        for row in asked:
            rows.put(np.full(len(mine), row), mine, -1)
    return Wardrobe(
        np.concatenate(found.arc),
        np.concatenate(found.wearer),
        column,
        of,
        size,
        caps,
        np.array(found.count, np.int64),
        tuple(found.sizes),
        frozenset(member for member, _ in found.wearers),
        {name: np.array(found.asked[n], np.int64) for n, name in enumerate(found.wearers)},
    )


class _Found:
    """Wearers and sizes of all kinds while they are numbered."""

    def __init__(self) -> None:
        self.arc: list[Ints] = []
        self.wearer: list[Ints] = []
        self.of: list[int] = []
        self.size: list[int] = []
        self.count: list[int] = []
        self.sizes: list[tuple[str, str]] = []
        self.asked: dict[int, list[int]] = {}
        self.wearers: list[tuple[str, str]] = []


def _add_kind(
    found: _Found,
    rows: Rows,
    families: list[Family],
    problem: LineupProblem,
    arcs: Arcs,
    kind: str,
    count: dict[str, int],
) -> None:
    """The wearers of one kind who could be too many."""
    asks = _asking(problem, arcs, kind)
    fits_of = {who: lack.fits for who, lack in arcs.people.lacks if lack.kind == kind}
    lacks = np.zeros(len(arcs.people.keys), np.bool_)
    lacks[list(fits_of)] = True
    need = np.flatnonzero(asks & lacks[arcs.member])
    fits = {
        who: [size for size in fits_of[who] if count.get(size, 0)]
        for who in np.unique(arcs.member[need]).tolist()
    }
    short = contested(fits, count)
    if not short:
        return
    number = np.full(len(arcs.people.keys), -1)
    number[list(short)] = len(found.wearers) + np.arange(len(short))
    need = need[number[arcs.member[need]] >= 0]
    wearer = number[arcs.member[need]]
    found.arc.append(need)
    found.wearer.append(wearer)
    found.wearers += [(arcs.people.keys[who], kind) for who in short]
    _add_sizes(found, kind, [(int(number[who]), fits[who]) for who in short], count)
    segment = arcs.seat_segment[arcs.seat[need]]
    pairs, place = np.unique(wearer * len(problem.segments) + segment, return_inverse=True)
    opened = rows.open(len(pairs), AT_MOST, 0)
    row = np.full(arcs.size, NO_ROW)
    row[need] = opened[place]
    families.append(Family(row))
    asked = zip(opened.tolist(), (pairs // len(problem.segments)).tolist(), strict=True)
    for number_of_row, who in asked:
        found.asked.setdefault(who, []).append(number_of_row)


def _add_sizes(
    found: _Found, kind: str, wearers: list[tuple[int, list[str]]], count: dict[str, int]
) -> None:
    names = sorted({size for _, fits in wearers for size in fits})
    place = {size: len(found.sizes) + n for n, size in enumerate(names)}
    found.sizes += [(kind, size) for size in names]
    found.count += [count[size] for size in names]
    for wearer, fits in wearers:
        found.of += [wearer] * len(fits)
        found.size += [place[size] for size in fits]


def _asking(problem: LineupProblem, arcs: Arcs, kind: str) -> Bools:
    """Arcs whose seat asks for the kind."""
    segments = {g.key: n for n, g in enumerate(problem.segments)}
    table = worn(arcs.places, segments, problem.wears, kind)
    found: Bools = table[arcs.seat_segment[arcs.seat], arcs.places.part[arcs.seat_spot[arcs.seat]]]
    return found
