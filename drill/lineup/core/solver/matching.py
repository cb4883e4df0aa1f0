"""Stage 1: the lineup without side rules is an assignment problem, solved block by block.

SciPy's sparse matching gives the optimum of packed levels; prices come from shortest paths on
the residual graph; arcs of positive reduced cost leave, members with a price must march. If the
answer happens to meet every side rule it is optimal for the whole problem, because the side
rules only ever forbid.
"""

from __future__ import annotations

import numpy as np
from scipy import sparse
from scipy.sparse.csgraph import min_weight_full_bipartite_matching

from drill.lineup.core.problem import Level
from drill.lineup.core.solver.certificate import is_feasible, take_block
from drill.lineup.core.solver.face import Face
from drill.lineup.core.solver.index import Bools, Ints
from drill.lineup.core.solver.model import Model
from drill.lineup.core.solver.packing import Pack, pack_levels, weighted_sum
from drill.lineup.core.solver.result import Block, Certificate

CAPACITY = 1 << 52


def solve_matching(model: Model) -> tuple[Ints, Certificate] | None:
    """The optimum and its proof, or None when a side rule bends it or pins leave no matching."""
    face = Face.whole(model)
    seats = len(model.arcs.seats)
    must = np.zeros(len(model.node_row), np.bool_)
    x = np.zeros(model.columns, np.int64)
    blocks: list[Block] = []
    for pack in pack_levels(model.spans(), CAPACITY // (seats + 1)):
        packed = weighted_sum([model.cost(lv, face.free) for lv in pack.levels], pack.weights)
        columns = np.flatnonzero(face.free[: model.arcs.size])
        chosen = _match(model, packed, columns, face.free, must, pack)
        if chosen is None:
            return None
        x[:] = 0
        x[chosen] = 1
        model.fill_dependent(x)
        block = _price(model, packed, columns, chosen, must, pack)
        if not is_feasible(model, x) or not take_block(model, x, block, face):
            return None
        blocks.append(block)
        prices = dict(block.prices)
        must |= np.array([int(row) in prices for row in model.node_row], np.bool_)
    return x, Certificate(tuple(blocks))


def _bonus(model: Model, pack: Pack, must: Bools) -> int:
    return pack.span if must.any() else 0


def _match(
    model: Model, packed: Ints, columns: Ints, free: Bools, must: Bools, pack: Pack
) -> Ints | None:
    """The chosen arcs of the cheapest matching in which every ``must`` node takes part."""
    arcs, seats = model.arcs, len(model.arcs.seats)
    if not seats:
        return np.zeros(0, np.int64)
    nodes = len(model.node_row)
    node = model.node[columns]
    weight = packed[columns] - np.where(must[node], _bonus(model, pack, must), 0)
    holes = np.flatnonzero(model.hole >= 0)
    holes = holes[free[model.hole[holes]]]
    data = np.concatenate([weight, packed[model.hole[holes]]])
    data = data - int(data.min(initial=0)) + 1
    rows = np.concatenate([arcs.seat[columns], holes])
    cols = np.concatenate([node, nodes + holes])
    graph = sparse.csr_matrix((data.astype(np.float64), (rows, cols)), (seats, nodes + seats))
    try:
        matched_rows, matched_cols = min_weight_full_bipartite_matching(graph)
    except ValueError:
        return None
    partner = np.empty(seats, np.int64)
    partner[matched_rows] = matched_cols
    chosen: Ints = columns[partner[arcs.seat[columns]] == node]
    return chosen


def _price(
    model: Model, packed: Ints, columns: Ints, chosen: Ints, must: Bools, pack: Pack
) -> Block:
    """Prices of seats and members by shortest paths (Bellman-Ford) from the unmatched."""
    arcs, bonus = model.arcs, _bonus(model, pack, must)
    cost = packed - np.where(
        np.append(must[model.node], np.zeros(model.columns - arcs.size, np.bool_)), bonus, 0
    )
    seats = len(arcs.seats)
    current = np.where(model.hole >= 0, cost[model.hole], 0)
    matched = np.full(seats, -1, np.int64)
    matched[arcs.seat[chosen]] = model.node[chosen]
    current[arcs.seat[chosen]] = cost[chosen]
    price = np.zeros(len(model.node_row) + 1, np.int64)
    order = columns[np.argsort(model.node[columns], kind="stable")]
    node, seat = model.node[order], arcs.seat[order]
    gain = cost[order] - current[seat]
    starts = np.flatnonzero(np.r_[True, node[1:] != node[:-1]]) if len(order) else order
    for _ in range(len(price)):
        through = price[matched[seat]] + gain
        if not len(order):
            break
        best = np.minimum(np.minimum.reduceat(through, starts), price[node[starts]])
        if (best == price[node[starts]]).all():
            break
        price[node[starts]] = best
    seat_price = current - price[matched]
    true_price = price[:-1] + np.where(must, bonus, 0)
    return Block(pack.levels, pack.weights, 1, _row_prices(model, seat_price, true_price, pack))


def _row_prices(
    model: Model, seat_price: Ints, node_price: Ints, pack: Pack
) -> tuple[tuple[int, int], ...]:
    prices = np.zeros(len(model.sense), np.int64)
    prices[model.seat_row] = seat_price
    prices[model.node_row] = node_price
    if Level.LEADERLESS in pack.levels:
        weight = pack.weights[pack.levels.index(Level.LEADERLESS)]
        prices[model.leader_row[model.leader_free]] = weight
    if len(model.traveller):
        travel = np.zeros(len(model.traveller), np.int64)
        member = np.zeros(len(model.node_row), np.int64)
        member[model.node] = model.arcs.member
        np.add.at(travel, member, node_price)
        prices[model.traveller_row] = travel
    rows = np.flatnonzero(prices)
    return tuple(zip(rows.tolist(), prices[rows].tolist(), strict=True))
