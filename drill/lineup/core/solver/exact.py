"""Whole-numbered prices from those of a linear program."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from drill.lineup.core.solver.certificate import Bound, Left, bound_of, paid, priced, worth
from drill.lineup.core.solver.face import Face
from drill.lineup.core.solver.index import Floats, Ints
from drill.lineup.core.solver.model import AT_LEAST, AT_MOST, Model, Point
from drill.lineup.core.solver.packing import Pack
from drill.lineup.core.solver.part import Costs
from drill.lineup.core.solver.result import Block

SCALES = (1, 2, 3, 4, 6, 12, 60)
LARGEST = 4096
"""of the scales that are tried where rows of levels make larger fractions"""
FINE = 1 << 16
"""a scale for prices that are no such fractions: a few of its parts a seat are lost"""
NEAR_WHOLE = 1e-3


def exact_block(
    model: Model, point: Point, pack: Pack, prices: Floats, face: Face
) -> tuple[Block, Left] | None:
    """The prices as whole numbers that prove the point, and what they leave of the face."""
    for scale in _scales(prices):
        whole = np.rint(prices * scale).astype(np.int64)
        block = block_of(pack, scale, whole)
        left = settled(model, point, block, face, whole)
        if left is not None:
            return block, left
    return None


def settled(model: Model, point: Point, block: Block, face: Face, prices: Ints) -> Left | None:
    """What is left of the face where the prices pay just what the point costs."""
    bound = priced(model, block, face, prices)
    left = None if bound is None else bound.left(face, worth(model, block, point))
    return left if left is not None and left.gap == 0 else None


def _scales(prices: Floats) -> Iterator[int]:
    """Scales at which all prices are whole."""
    near = NEAR_WHOLE
    parts = np.abs(prices - np.rint(prices))
    if parts.max(initial=0) < near:
        yield 1
        return
    parts = np.unique(np.round(parts, 7))
    for scale in SCALES:
        if np.abs(parts * scale - np.rint(parts * scale)).max(initial=0) < near:
            yield scale
            return
    scales = np.arange(1, LARGEST)
    off = np.abs(np.outer(scales, parts) - np.rint(np.outer(scales, parts))).max(axis=1)
    yield from scales[off < near].tolist()[:1]


def block_of(pack: Pack | None, scale: int, prices: Ints) -> Block:
    """A block of these prices; without a pack one that says there is no lineup."""
    rows = np.flatnonzero(prices)
    levels, weights = ((), ()) if pack is None else (pack.levels, pack.weights)
    return Block(levels, weights, scale, tuple(rows.tolist()), tuple(prices[rows].tolist()))


def no_lineup(model: Model, face: Face, ray: Floats) -> Block | None:
    """A block that says by a ray's prices that there is nothing on the face; None where they do
    not show it."""
    least = np.abs(ray[np.abs(ray) > NEAR_WHOLE]).min(initial=1.0)
    for scale, prices, bound in bounds(model, Costs.none(model, face), ray / least, face):
        if bound > 0:
            return block_of(None, scale, prices)
    return None


def bounds(
    model: Model, costs: Costs, prices: Floats, face: Face
) -> Iterator[tuple[int, Ints, int]]:
    """Scales, whole prices that are sound whatever the program's are, and what they bound
    (scaled): what a price has too much is taken from its seat's."""
    for scale in (1, 2, 12, FINE):
        whole = np.rint(prices * scale).astype(np.int64)
        _mend(model, costs, whole, face, scale)
        yield scale, whole, paid(model, whole)


def best_bound(
    model: Model, pack: Pack, costs: Costs, prices: Floats, face: Face
) -> tuple[Block, Bound] | None:
    """The block of whole prices that bounds most; None where none is sound."""
    tried = sorted(bounds(model, costs, prices, face), key=lambda b: -b[2] / b[0])
    for scale, whole, _ in tried:
        block = block_of(pack, scale, whole)
        bound = bound_of(model, block, face)
        if bound is not None:
            return block, bound
    return None


def _mend(model: Model, costs: Costs, prices: Ints, face: Face, scale: int) -> None:
    """Lower prices until no reduced cost is below zero."""
    loose = ~face.tight
    prices[:-1][loose & (model.sense == AT_MOST) & (prices[:-1] > 0)] = 0
    prices[:-1][loose & (model.sense == AT_LEAST) & (prices[:-1] < 0)] = 0
    # Each kind of column mends prices of rows that the other kinds are not in: one look serves.
    rest = costs.others * scale - model.other_products(prices)
    free = face.others[model.leaderless]
    prices[model.leader_row[free]] += np.minimum(rest[model.leaderless[free]], 0)
    seats = len(model.arcs.seats)
    short = costs.arcs * scale - model.products(prices, face.arcs)
    lower = np.zeros(seats, np.int64)
    np.minimum.at(lower, model.arcs.seat[face.arcs], short)
    holes = np.flatnonzero(face.may_be_empty(model))
    lower[holes] = np.minimum(lower[holes], rest[model.hole[holes]])
    prices[:seats] += lower
    if len(model.traveller):
        free = face.others[model.traveller]
        prices[model.traveller_row[free]] += np.minimum(rest[model.traveller[free]], 0)
    if model.wardrobe is not None:
        column, size = model.wardrobe.column, model.wardrobe.size
        free = face.others[column]
        too_dear = np.zeros(len(model.wardrobe.caps), np.int64)
        np.minimum.at(too_dear, size[free], rest[column[free]])
        prices[model.wardrobe.caps] += too_dear
