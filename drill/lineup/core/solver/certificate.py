"""Proof of a lineup by prices: integer arithmetic on the model's rows, and no solver.

For each block of levels the prices must keep every remaining column's reduced cost at or above
zero: then no lineup costs less than what the prices pay for the rows. Where that is what the
lineup costs, columns of positive reduced cost and the slack of priced rows are settled for the
later blocks (the optimal face); where it is more, no lineup of the branch is as good; where it is
less, columns whose reduced cost is above the gap leave. Such a gap is closed by branches, or by a
proof of the block's own, and its levels are held from then on.
"""

from __future__ import annotations

from dataclasses import dataclass
from operator import mul

import numpy as np

from drill.lineup.core.canonical import canonical
from drill.lineup.core.problem import Level, LineupProblem
from drill.lineup.core.solver.branches import branches
from drill.lineup.core.solver.building import build_model
from drill.lineup.core.solver.face import Face
from drill.lineup.core.solver.index import Ints
from drill.lineup.core.solver.model import AT_LEAST, AT_MOST, Model, Point
from drill.lineup.core.solver.packing import span_of
from drill.lineup.core.solver.result import Block, Branch, Certificate, Lineup
from drill.lineup.core.solver.splitting import splits, widened

LEVELS = tuple(Level)
OVERFLOW = 1 << 57


@dataclass(frozen=True)
class Bound:
    """What no lineup of a face costs less than, and the reduced costs, all times the scale."""

    scale: int
    least: int
    arcs: Ints
    others: Ints
    prices: Ints

    def left(self, face: Face, value: int) -> Left:
        """What lineups of this value (and no lower one) may have: columns whose reduced cost is
        within the gap, and equations where there is none."""
        gap = value * self.scale - self.least
        tight = face.tight | (self.prices[:-1] != 0) if gap == 0 else face.tight
        return Left(
            Face(face.arcs[self.arcs <= gap], face.others & (self.others <= gap), tight), gap
        )


@dataclass(frozen=True)
class Left:
    """What a block leaves, and by how much (scaled) its prices pay less than the lineup costs."""

    face: Face
    gap: int


def certify(problem: LineupProblem, lineup: Lineup) -> bool:
    """True when the lineup's certificate proves it optimal at every level."""
    if lineup.certificate is None:
        return False
    model = build_model(canonical(problem))
    try:
        point = model.point_of(lineup.placements)
    except KeyError:
        return False
    return proves(model, point, lineup.certificate)


def proves(model: Model, point: Point, certificate: Certificate) -> bool:
    """True when the point is feasible and the certificate proves all levels of it."""
    widens = any(block.levels == (Level.SPLIT,) for block in certificate.blocks)
    if not model.is_feasible(point) or (not widens and splits(model, point.arcs)):
        return False
    return _none_better(model, point, certificate, Face.whole(model), LEVELS)


def _none_better(
    model: Model, point: Point, proof: Certificate, face: Face, levels: tuple[Level, ...]
) -> bool:
    """True when no lineup of the face is better in these levels."""
    for block in proof.blocks:
        if block.levels != levels[: len(block.levels)]:
            return False
        if block.levels == (Level.SPLIT,) and model.split is None:
            model, face = widened(model, face)
            point = model.point(point.arcs)
        bound = bound_of(model, block, face)
        if bound is None:
            return False
        value, later = worth(model, block, point), levels[len(block.levels) :]
        left = bound.left(face, value if later else value - 1)
        if left.gap < 0:
            return True
        if not block.settles:
            face = left.face
            continue
        better = bound.left(face, value - 1)
        if better.gap >= 0 and not _closes(model, point, block, better.face):
            return False
        model, face = held(model, point, left, block)
        levels = later
    return proof.branch is not None and _both(model, point, proof.branch, face, levels)


def _closes(model: Model, point: Point, block: Block, face: Face) -> bool:
    """True when the block's own proof says that nothing on the face is better in its levels."""
    proof = block.proof
    return proof is not None and _none_better(model, point, proof, face, block.levels)


def _both(
    model: Model, point: Point, branch: Branch, face: Face, levels: tuple[Level, ...]
) -> bool:
    if not 0 <= branch.column < model.arcs.size + model.others.shape[1]:
        return False
    both = zip((branch.zero, branch.one), branches(model, face, branch.column), strict=True)
    return all(_none_better(model, point, proof, part, levels) for proof, part in both)


def held(model: Model, point: Point, left: Left, block: Block) -> tuple[Model, Face]:
    """The model and face of the blocks after: where the prices leave a gap, the levels are held
    where the point has them."""
    face = left.face
    if not left.gap:
        return model, face
    made = model.held(block.levels, point)
    more = np.zeros(made.rows - model.rows, np.bool_)
    return made, Face(face.arcs, face.others, np.append(face.tight, more))


def bound_of(model: Model, block: Block, face: Face) -> Bound | None:
    """The block's bound; None when its prices or weights are not sound."""
    prices = _prices(model, block)
    if prices is None or not _weights_dominate(model, face, block):
        return None
    return priced(model, block, face, prices)


def priced(model: Model, block: Block, face: Face, prices: Ints) -> Bound | None:
    """What the prices of all rows (and one more entry, 0) bound; None when they are not sound."""
    if not _prices_fit(model, prices, face):
        return None
    arcs = model.packed(block.levels, block.weights, face.arcs)
    others = model.packed_others(block.levels, block.weights)
    reduced = arcs * block.scale - model.products(prices, face.arcs)
    rest = others * block.scale - model.other_products(prices)
    if (reduced < 0).any() or (rest[face.others] < 0).any():
        return None
    return Bound(block.scale, paid(model, prices), reduced, rest, prices)


def paid(model: Model, prices: Ints) -> int:
    """What prices pay for the rows, in whole numbers of any size."""
    rows = np.flatnonzero(prices[:-1])
    return sum(map(mul, model.limit[rows].tolist(), prices[rows].tolist()))


def worth(model: Model, block: Block, point: Point) -> int:
    """What a point costs in a block's packed levels."""
    total = 0
    for level, weight in zip(block.levels, block.weights, strict=True):
        cost = int(model.arc_cost(level, point.arcs).sum())
        total += weight * (cost + int(model.other_cost(level) @ point.others))
    return total


def _prices(model: Model, block: Block) -> Ints | None:
    """The block's prices of all rows and one more entry, 0; None when they are not sound."""
    prices = np.zeros(model.rows + 1, np.int64)
    if block.scale < 1 or len(block.weights) != len(block.levels):
        return None
    rows, values = list(block.rows), list(block.prices)
    if len(rows) != len(values):
        return None
    if rows:
        if max(map(abs, values)) > OVERFLOW or not 0 <= min(rows) <= max(rows) < model.rows:
            return None
        prices[rows] = values
    return prices


def _prices_fit(model: Model, prices: Ints, face: Face) -> bool:
    """True when no row that is no equation has a price of the wrong sign."""
    loose, price = ~face.tight, prices[:-1]
    too_dear = (model.sense == AT_MOST) & (price > 0) & loose
    too_cheap = (model.sense == AT_LEAST) & (price < 0) & loose
    return not (too_dear.any() or too_cheap.any())


def _weights_dominate(model: Model, face: Face, block: Block) -> bool:
    """True when no later level of the block can outweigh an earlier one."""
    needed, seats = 1, len(model.arcs.seats)
    both = list(zip(block.levels, block.weights, strict=True))
    for level, weight in reversed(both):
        if weight < needed:
            return False
        if level is not block.levels[0]:
            count = len(model.leaderless) if level is Level.LEADERLESS else seats
            arcs = face.spread(model, model.arc_cost(level, face.arcs))
            needed = weight * (arcs + span_of(model.other_cost(level), count))
    return True
