"""An assignment that is best in several levels, one strictly after the other.

SciPy's sparse matching gives the optimum of levels packed into one number; prices from shortest
paths say which arcs and columns the levels after may still use (complementary slackness).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from scipy import sparse
from scipy.sparse.csgraph import min_weight_full_bipartite_matching

Ints = npt.NDArray[np.int64]
Bools = npt.NDArray[np.bool_]
CAPACITY = 1 << 52
"""whole numbers below it are exact in the floats that SciPy matches with"""


@dataclass(frozen=True)
class Arcs:
    """Pairs that may be matched (``row``, ``column``); every row has a pair in some matching."""

    rows: int
    columns: int
    row: Ints
    column: Ints


def assign(arcs: Arcs, levels: Sequence[Ints]) -> tuple[Ints, tuple[int, ...]]:
    """The arcs of the best assignment of all rows, in the order of the rows, and what each level
    costs. ``levels`` are the arcs' whole costs of at least 0, earlier ones first.

    ValueError where no assignment has all rows.
    """
    order = np.lexsort((arcs.column, arcs.row))
    kept = order
    must = np.zeros(arcs.columns, np.bool_)
    chosen = kept[:0]
    for pack in _packs(arcs, levels):
        cost = np.zeros(len(kept), np.int64)
        span = 1
        for level, weight in pack:
            cost += levels[level][kept] * weight
            span += weight * _span(arcs, levels[level])
        if must.any():
            cost -= np.where(must[arcs.column[kept]], span, 0)
        chosen, tight, priced = _best(arcs, kept, cost)
        kept = kept[tight]
        must |= priced
    chosen = chosen[np.argsort(arcs.row[chosen], kind="stable")]
    return chosen, tuple(int(level[chosen].sum()) for level in levels)


def _span(arcs: Arcs, level: Ints) -> int:
    return arcs.rows * int(level.max(initial=0))


def _packs(arcs: Arcs, levels: Sequence[Ints]) -> list[list[tuple[int, int]]]:
    """Levels by number with their weights, in packs whose sums stay exact (a bonus as large as
    the whole pack leaves room)."""
    packs: list[list[int]] = [[]]
    size = 1
    for number, level in enumerate(levels):
        span = _span(arcs, level) + 1
        if packs[-1] and size * span * 4 * max(arcs.rows, 1) > CAPACITY:
            packs.append([])
            size = 1
        packs[-1].append(number)
        size *= span
    return [_weighted(arcs, levels, pack) for pack in packs if pack]


def _weighted(arcs: Arcs, levels: Sequence[Ints], pack: list[int]) -> list[tuple[int, int]]:
    weight, found = 1, []
    for number in reversed(pack):
        found.append((number, weight))
        weight *= _span(arcs, levels[number]) + 1
    return found[::-1]


def _best(arcs: Arcs, kept: Ints, cost: Ints) -> tuple[Ints, Bools, Bools]:
    """The cheapest matching of the kept arcs, which of them optimal ones may have, and which
    columns every optimal one has."""
    row, column = arcs.row[kept], arcs.column[kept]
    weight = (cost - cost.min(initial=0) + 1).astype(np.float64)
    start = np.searchsorted(row, np.arange(arcs.rows + 1)).astype(np.int32)
    shape = (arcs.rows, arcs.columns)
    graph = sparse.csr_matrix((weight, column.astype(np.int32), start), shape, copy=False)
    rows, columns = min_weight_full_bipartite_matching(graph)
    partner = np.empty(arcs.rows, np.int64)
    partner[rows] = columns
    matched = np.flatnonzero(partner[row] == column)
    current = np.zeros(arcs.rows, np.int64)
    current[row[matched]] = cost[matched]
    gain = cost - current[row]
    price = _prices(row, column, gain, partner, arcs.columns)
    tight = gain + price[partner[row]] == price[column]
    return kept[matched], tight, price < 0


def _prices(row: Ints, column: Ints, gain: Ints, partner: Ints, columns: int) -> Ints:
    """Each column's price: the cheapest way to free it (Bellman-Ford; no cycle gains)."""
    price = np.zeros(columns, np.int64)
    for _ in range(len(partner) + 1):
        found = price.copy()
        np.minimum.at(found, column, price[partner[row]] + gain)
        if (found == price).all():
            break
        price = found
    return price
