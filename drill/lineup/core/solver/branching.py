"""Where a pack's program has no whole answer: the best whole one, and that none is better.

A face is divided in two at a rank (it is led or not), a traveller, a seat or at last an arc,
whatever of these is fractional. Both parts go on from the last basis, pack by pack; a part whose
prices pay for no less than the best lineup known is closed.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np

from drill.lineup.core.solver.branches import branches
from drill.lineup.core.solver.certificate import worth
from drill.lineup.core.solver.exact import best_bound, block_of, bounds, exact_block, no_lineup
from drill.lineup.core.solver.face import Face
from drill.lineup.core.solver.index import Floats
from drill.lineup.core.solver.local import Solved, Solver, solver_of
from drill.lineup.core.solver.model import Model, Point
from drill.lineup.core.solver.packing import Pack
from drill.lineup.core.solver.part import Costs, Part
from drill.lineup.core.solver.program import WHOLE, Program
from drill.lineup.core.solver.result import Block, Branch, Certificate, NoLineup

NEAR = 0.01
"""how far from a bound the program's prices may be for whole ones to be tried"""
MOST_TRIED = 8
NONE = np.zeros(0, np.int64)


class Spent(Exception):
    """All nodes are used, or prices that prove an answer are not to be had."""


@dataclass(frozen=True)
class Node:
    """A face to search: what the packs settled on it cost, and what solves the next pack, on
    this face or a larger one."""

    face: Face
    solver: Solver
    paid: tuple[int, ...] = ()

    @property
    def costs(self) -> Costs:
        """What the next pack's columns cost on this face."""
        return self.solver.costs.on(self.solver.face, self.face)


@dataclass
class Tree:
    """The search of packs on a face. ``best`` is a lineup of the face, if one is known."""

    model: Model
    packs: list[Pack]
    nodes: int
    best: Point | None

    def __post_init__(self) -> None:
        self.costs = () if self.best is None else self._worth(self.best)

    def search(self, face: Face, solver: Solver) -> Certificate | None:
        """The proof of the best lineup; None where the nodes do not suffice. NoLineup when the
        face has none."""
        root = Node(face, solver)
        try:
            self._dive(root)
            proof = self._proof(root)
        except Spent:
            return None
        if self.best is None:
            raise NoLineup("the rules leave no lineup")
        return proof

    def _worth(self, point: Point) -> tuple[int, ...]:
        return tuple(worth(self.model, block_of(p, 1, NONE), point) for p in self.packs)

    def _dive(self, node: Node) -> None:
        """Go down one way, where the shares point to, until there is a lineup or nothing."""
        while True:
            try:
                found = node.solver.solve(node.face)
            except NoLineup:
                return
            point = self._whole(found)
            if point is not None:
                below = self._settled(node, found, point)
                if below is None or len(below[1].paid) == len(self.packs):
                    return
                node = below[1]
                continue
            column, share = max(_fractions(self.model, found), key=lambda c: c[1])
            zero, one = branches(self.model, node.face, column)
            node = replace(node, face=one if share >= 0.5 else zero)

    def _whole(self, found: Solved) -> Point | None:
        arcs = found.whole()
        return None if arcs is None else self.model.point(arcs)

    def _settled(self, node: Node, found: Solved, point: Point) -> tuple[Block, Node] | None:
        """A pack's whole optimum, and the node below; None where it cannot be priced."""
        pack = self.packs[len(node.paid)]
        proven = exact_block(self.model, point, pack, found.prices, node.face)
        if proven is None:
            return None
        block, face = proven[0], proven[1].face
        paid = (*node.paid, worth(self.model, block, point))
        if len(paid) < len(self.packs):
            costs = Costs.of(self.model, self.packs[len(paid)], face)
            return block, Node(face, solver_of(self.model, face, point, costs), paid)
        self._keep(paid, point)
        return block, Node(face, node.solver, paid)

    def _keep(self, paid: tuple[int, ...], point: Point) -> None:
        if self.best is None or paid < self.costs:
            self.best, self.costs = point, paid

    def _is_last(self, node: Node) -> bool:
        return len(node.paid) + 1 == len(self.packs)

    def _proof(self, node: Node) -> Certificate:
        """That nothing on the face is better than the best lineup in the end."""
        self._count()
        blocks: list[Block] = []
        narrowed = -1
        while True:
            try:
                found = node.solver.solve(node.face)
            except NoLineup:
                return Certificate((*blocks, self._nothing(node)))
            closed = self._closed(node, found)
            if closed is not None:
                return Certificate((*blocks, closed))
            point = self._whole(found)
            below = None if point is None else self._settled(node, found, point)
            if below is None and point is not None and self._is_last(node):
                # Whole, but for prices that are no small fractions: they may bound enough.
                self._keep((*node.paid, self._worth(point)[-1]), point)
                closed = self._closed(node, found)
                if closed is not None:
                    return Certificate((*blocks, closed))
            if below is None and narrowed < len(node.paid):
                narrowed = len(node.paid)
                below = self._narrowed(node, found)
            if below is None:
                return Certificate(tuple(blocks), self._branch(node, found))
            blocks.append(below[0])
            node = below[1]
            if len(node.paid) == len(self.packs):
                return Certificate(tuple(blocks))

    def _count(self) -> None:
        if self.nodes <= 0:
            raise Spent
        self.nodes -= 1

    def _enough(self, node: Node) -> int | None:
        """What a better lineup may cost at most in the node's pack; None where any may."""
        done = len(node.paid)
        if self.best is None or node.paid != self.costs[:done]:
            return None
        return self.costs[done] - self._is_last(node)

    def _closed(self, node: Node, found: Solved) -> Block | None:
        """Prices that prove that nothing on the face is better than the best lineup."""
        enough, pack = self._enough(node), self.packs[len(node.paid)]
        if enough is None or self._bound(found) < enough - NEAR:
            return None
        for scale, prices, least in bounds(self.model, node.costs, found.prices, node.face):
            if least > enough * scale:
                return block_of(pack, scale, prices)
        return None

    def _bound(self, found: Solved) -> float:
        return float(self.model.limit @ found.prices[:-1])

    def _narrowed(self, node: Node, found: Solved) -> tuple[Block, Node] | None:
        """The node without the columns that a better lineup cannot have, where one is known."""
        enough = self._enough(node)
        if enough is None:
            return None
        pack = self.packs[len(node.paid)]
        bounded = best_bound(self.model, pack, node.costs, found.prices, node.face)
        if bounded is None:
            return None
        block, bound = bounded
        left = bound.left(node.face, enough)
        if left.gap < 0:
            return None
        costs = node.costs.on(node.face, left.face)
        solver = solver_of(self.model, left.face, None, costs)
        return replace(block, settles=False), Node(left.face, solver, node.paid)

    def _nothing(self, node: Node) -> Block:
        """That there is nothing on the node's face."""
        for ray in self._rays(node):
            block = None if ray is None else no_lineup(self.model, node.face, ray)
            if block is not None:
                return block
        raise Spent

    def _rays(self, node: Node) -> Iterator[Floats | None]:
        """Of the node's program, and of all rows where that has only what is open."""
        yield node.solver.ray(node.face)
        if node.solver.core is not None:
            yield Program(Part.whole(self.model), node.face.arcs).ray(node.face)

    def _branch(self, node: Node, found: Solved) -> Branch:
        column, share = self._divide(node, found)
        zero, one = branches(self.model, node.face, column)
        first, second = (one, zero) if share >= 0.5 else (zero, one)
        proofs = [self._proof(replace(node, face=face)) for face in (first, second)]
        if share >= 0.5:
            proofs.reverse()
        return Branch(column, *proofs)

    def _divide(self, node: Node, found: Solved) -> tuple[int, float]:
        """The column to divide at, and its share: of those tried the one whose worse half bounds
        most."""
        tried = sorted(_fractions(self.model, found), key=lambda c: abs(c[1] - 0.5))[:MOST_TRIED]
        if not tried:
            raise Spent
        if len(tried) == 1:
            return tried[0]
        return max(tried, key=lambda candidate: self._gain(node, candidate[0]))

    def _gain(self, node: Node, column: int) -> tuple[float, float]:
        enough, bounds = self._enough(node), []
        for face in branches(self.model, node.face, column):
            try:
                bounds.append(self._bound(node.solver.solve(face)))
            except NoLineup:
                bounds.append(np.inf)
        most = np.inf if enough is None else enough + 1.0
        low, high = sorted(min(bound, most) for bound in bounds)
        return low, high


def _fractions(model: Model, found: Solved) -> list[tuple[int, float]]:
    """The columns whose share is fractional: ranks, travellers and seats before arcs."""
    first, out = model.arcs.size, []
    for kind in (model.leaderless, model.traveller, model.hole[model.hole >= 0]):
        values = found.others[kind] if len(found.others) else np.zeros(0)
        off = np.flatnonzero(np.abs(values - np.rint(values)) > WHOLE)
        out += list(zip((first + kind[off]).tolist(), values[off].tolist(), strict=True))
    off = np.flatnonzero(np.abs(found.shares - np.rint(found.shares)) > WHOLE)
    return out + list(zip(found.arcs[off].tolist(), found.shares[off].tolist(), strict=True))
