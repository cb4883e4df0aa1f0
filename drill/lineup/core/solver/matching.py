"""Stage 1: the lineup without side rules is an assignment problem, solved block by block.

SciPy's sparse matching gives the optimum of packed levels; prices come from shortest paths on
the residual graph; arcs of positive reduced cost leave, members with a price must march. If the
answer happens to meet every side rule it is optimal for the whole problem, because the side
rules only ever forbid. Where it does not, its prices are where the linear program begins.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy import sparse
from scipy.sparse.csgraph import min_weight_full_bipartite_matching

from drill.lineup.core.problem import Level
from drill.lineup.core.solver.exact import block_of, settled
from drill.lineup.core.solver.face import Face
from drill.lineup.core.solver.index import Ints, runs
from drill.lineup.core.solver.model import Model, Point
from drill.lineup.core.solver.packing import Pack, pack_levels
from drill.lineup.core.solver.part import Costs
from drill.lineup.core.solver.result import Block, Certificate

CAPACITY = 1 << 52


@dataclass(frozen=True)
class Matched:
    """A cheapest matching of a face: its arcs, and prices that prove it."""

    arcs: Ints
    tree: Ints
    """for each member with a price an arc that the price comes from"""
    seat_price: Ints
    node_price: Ints


def solve_matching(model: Model) -> tuple[Point, Certificate] | None:
    """The optimum and its proof, or None when a side rule bends it or pins leave no matching."""
    face = Face.whole(model)
    must = np.zeros(len(model.node_row), np.bool_)
    point = Point(model.all_arcs[:0], np.zeros(0, np.int64))
    blocks: list[Block] = []
    for pack in pack_levels(model.spans(), CAPACITY // (len(model.arcs.seats) + 1)):
        bonus = np.where(must, pack.span, 0) if must.any() else None
        matched = match(model, Costs.of(model, pack, face), face, bonus)
        if matched is None:
            return None
        point = model.point(matched.arcs)
        prices = row_prices(model, matched, pack)
        block = block_of(pack, 1, prices)
        left = settled(model, point, block, face, prices) if model.is_feasible(point) else None
        if left is None:
            return None
        face = left.face
        blocks.append(block)
        must |= matched.node_price != 0
    return point, Certificate(tuple(blocks))


def match(model: Model, costs: Costs, face: Face, bonus: Ints | None = None) -> Matched | None:
    """The cheapest matching on the face; every node that takes part earns its ``bonus``."""
    arcs, seats, nodes = model.arcs, len(model.arcs.seats), len(model.node_row)
    node, seat = arcs.of(model.node, face.arcs), arcs.of(arcs.seat, face.arcs)
    cost = costs.arcs if bonus is None else costs.arcs - bonus[node]
    open_seats = np.flatnonzero(face.may_be_empty(model))
    hole_cost = np.zeros(seats, np.int64)
    hole_cost[open_seats] = costs.others[model.hole[open_seats]]
    graph = _graph(nodes, seat, node, cost, open_seats, hole_cost)
    try:
        rows, columns = min_weight_full_bipartite_matching(graph)
    except ValueError:
        return None
    partner = np.full(seats, nodes, np.int64)
    partner[rows] = columns
    chosen = np.flatnonzero(partner[seat] == node)
    current = hole_cost.copy()
    current[seat[chosen]] = cost[chosen]
    partner[partner >= nodes] = nodes
    price, tree = _shortest(seat, node, cost - current[seat], partner, nodes)
    return Matched(
        face.arcs[chosen],
        face.arcs[tree[tree >= 0]],
        current - price[partner],
        price[:-1] if bonus is None else price[:-1] + bonus,
    )


def _graph(
    nodes: int, seat: Ints, node: Ints, cost: Ints, open_seats: Ints, hole_cost: Ints
) -> sparse.csr_matrix:
    """Seats x (nodes, then a hole of each seat), weights above zero; arcs come sorted by seat."""
    seats = len(hole_cost)
    has_hole = np.zeros(seats, np.int64)
    has_hole[open_seats] = 1
    ends = np.cumsum(np.bincount(seat, minlength=seats) + has_hole)
    at = np.arange(len(seat)) + (np.cumsum(has_hole) - has_hole)[seat]
    data = np.empty(len(seat) + len(open_seats), np.float64)
    columns = np.empty(len(data), np.int32)
    data[at], columns[at] = cost, node
    at = ends[open_seats] - 1
    data[at], columns[at] = hole_cost[open_seats], nodes + open_seats
    data += 1 - data.min(initial=0)
    start = np.append(0, ends).astype(np.int32)
    return sparse.csr_matrix((data, columns, start), (seats, nodes + seats), copy=False)


def _shortest(seat: Ints, node: Ints, gain: Ints, partner: Ints, nodes: int) -> tuple[Ints, Ints]:
    """Each node's price, the length of the shortest way to it from what is not matched, and the
    arc that it ends with (Bellman-Ford, from those whose price has changed)."""
    price, tree = np.zeros(nodes + 1, np.int64), np.full(nodes, -1, np.int64)
    start = np.searchsorted(seat, np.arange(len(partner) + 1))
    seat_of = np.full(nodes + 1, -1, np.int64)
    seat_of[partner] = np.arange(len(partner))
    arcs = np.arange(len(seat))
    for _ in range(nodes + 1):
        through = price[partner[seat[arcs]]] + gain[arcs]
        better = through < price[node[arcs]]
        arcs, through = arcs[better], through[better]
        if not len(arcs):
            break
        np.minimum.at(price, node[arcs], through)
        arcs = arcs[price[node[arcs]] == through]
        tree[node[arcs]] = arcs
        changed = seat_of[np.unique(node[arcs])]
        changed = changed[changed >= 0]
        count = start[changed + 1] - start[changed]
        arcs = runs(start[changed], count)
    return price, tree


def row_prices(model: Model, matched: Matched, pack: Pack) -> Ints:
    """The prices of all rows that prove a matching, and one more entry, 0."""
    prices = np.zeros(model.rows + 1, np.int64)
    prices[: len(matched.seat_price)] = matched.seat_price
    prices[model.node_row] = matched.node_price
    if Level.LEADERLESS in pack.levels:
        weight = pack.weights[pack.levels.index(Level.LEADERLESS)]
        prices[model.leader_row[model.leader_free]] = weight
    if len(model.traveller):
        of = model.traveller_of[model.node_member]
        coupled = of >= 0
        np.add.at(prices, model.traveller_row[of[coupled]], matched.node_price[coupled])
    return prices
