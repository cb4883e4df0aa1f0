"""Proof of a lineup by prices: integer arithmetic on the model's rows, and no solver.

For each block of levels the prices must keep every remaining column's reduced cost at or above
zero, with complementary slackness against the lineup. Columns of positive reduced cost and the
slack of priced rows are then settled for the later blocks (the optimal face).
"""

from __future__ import annotations

import numpy as np

from drill.lineup.core.canonical import canonical
from drill.lineup.core.problem import Level, LineupProblem
from drill.lineup.core.solver.face import Face
from drill.lineup.core.solver.index import Ints
from drill.lineup.core.solver.model import AT_LEAST, AT_MOST, EQUAL, Model, build_model
from drill.lineup.core.solver.packing import span_of, weighted_sum
from drill.lineup.core.solver.result import Block, Certificate, Lineup
from drill.lineup.core.solver.splitting import splits, wide_vector, widened

LEVELS = tuple(Level)
OVERFLOW = 1 << 61


def certify(problem: LineupProblem, lineup: Lineup) -> bool:
    """True when the lineup's certificate proves it optimal at every level."""
    if lineup.certificate is None:
        return False
    model = build_model(canonical(problem))
    try:
        x = model.vector(lineup.placements)
    except KeyError:
        return False
    return proves(model, x, lineup.certificate)


def proves(model: Model, x: Ints, certificate: Certificate) -> bool:
    """True when ``x`` is feasible and the certificate's blocks prove all levels of it."""
    levels = tuple(level for block in certificate.blocks for level in block.levels)
    if levels != LEVELS or not is_feasible(model, x):
        return False
    whole, face = model, Face.whole(model)
    for block in certificate.blocks:
        if block.levels == (Level.SPLIT,):
            model, face = widened(model, face)
            x = wide_vector(model, x)
        if not take_block(model, x, block, face):
            return False
    return model is not whole or not splits(model, x)


def is_feasible(model: Model, x: Ints) -> bool:
    """True when every row of the model holds."""
    slack = np.asarray(model.matrix @ x) - model.limit
    ok = np.where(
        model.sense == EQUAL, slack == 0, np.where(model.sense == AT_MOST, slack <= 0, slack >= 0)
    )
    return bool(ok.all() and (x >= 0).all())


def take_block(model: Model, x: Ints, block: Block, face: Face) -> bool:
    """Check one block and narrow ``face`` to what it proves; False leaves the face as it was."""
    costs = [model.cost(level, face.free) for level in block.levels]
    if not _weights_dominate(model, costs, block):
        return False
    prices = np.zeros(len(model.sense), np.int64)
    for row, price in block.prices:
        prices[row] = price
    if int(np.abs(prices).max(initial=0)) > OVERFLOW // 8 or block.scale < 1:
        return False
    packed = weighted_sum(costs, block.weights) * block.scale
    reduced = packed - np.asarray(model.matrix.T @ prices)
    if not _prices_fit(model, prices, face) or (reduced[face.free] < 0).any():
        return False
    slack = np.asarray(model.matrix @ x) - model.limit
    if (x[~face.free] != 0).any() or (slack[prices != 0] != 0).any():
        return False
    if (x[face.free & (reduced > 0)] != 0).any():
        return False
    face.free &= reduced <= 0
    face.tight |= prices != 0
    return True


def _prices_fit(model: Model, prices: Ints, face: Face) -> bool:
    loose = ~face.tight
    too_dear = (model.sense == AT_MOST) & (prices > 0) & loose
    too_cheap = (model.sense == AT_LEAST) & (prices < 0) & loose
    return not (too_dear.any() or too_cheap.any())


def _weights_dominate(model: Model, costs: list[Ints], block: Block) -> bool:
    """True when no later level of the block can outweigh an earlier one."""
    seats = len(model.arcs.seats)
    needed = 1
    for cost, weight, level in zip(
        reversed(costs), reversed(block.weights), reversed(block.levels), strict=True
    ):
        if weight < needed:
            return False
        count = len(model.leaderless) if level is Level.LEADERLESS else seats
        needed = weight * span_of(cost, count)
    return True
