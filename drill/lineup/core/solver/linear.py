"""Stage 2: the linear program with the side rules (leaders, stock, travel), by HiGHS.

Packs of levels are solved one after the other on the optimal face of those before. Prices are
scaled to integers and checked exactly, on all columns, so a whole-numbered answer comes with its
proof. The first pack begins where a matching stands and needs few of the arcs; the later ones have
only to decide what it left open. Where an answer is fractional, ``branching`` finds the best whole
one and proves it.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace

import numpy as np

from drill.lineup.core.problem import Level
from drill.lineup.core.solver.bases import at_prices
from drill.lineup.core.solver.branching import Tree
from drill.lineup.core.solver.certificate import Left, held
from drill.lineup.core.solver.exact import best_bound, block_of, exact_block, settled
from drill.lineup.core.solver.face import Face
from drill.lineup.core.solver.index import Ints
from drill.lineup.core.solver.local import Solved, Solver, solver_of
from drill.lineup.core.solver.matching import Matched, match, row_prices
from drill.lineup.core.solver.model import TIE_SPAN, Model, Point
from drill.lineup.core.solver.packing import Pack, pack_levels
from drill.lineup.core.solver.part import Costs, Part
from drill.lineup.core.solver.program import Program, whole
from drill.lineup.core.solver.result import Block, Branch, Certificate, Tell, nobody
from drill.lineup.core.solver.splitting import widened

CAPACITY = 1 << 40


@dataclass(frozen=True)
class LinearAnswer:
    """A lineup with its proof, and whether it took branches."""

    arcs: Ints
    certificate: Certificate
    branched: bool


@dataclass
class Run:
    """Packs of levels solved one after the other, each on the face of those before."""

    model: Model
    face: Face
    nodes: int
    tell: Tell = nobody
    program: Program | None = None
    point: Point | None = None
    blocks: list[Block] = field(default_factory=list)
    branch: Branch | None = None
    branched: bool = False

    def take(self, levels: Sequence[Level], *, split: bool = False) -> bool:
        """Solve the levels; False where they cannot be proven within the nodes. ``split``: SPLIT
        has columns of its own."""
        waiting = self._packs(levels, split)
        while waiting:
            pack = waiting.pop(0)
            self.tell(pack.levels[0])
            if split and pack.levels == (Level.SPLIT,):
                self._widen()
            left = [level for later in waiting for level in later.levels]
            costs = Costs.of(self.model, pack, self.face)
            if self.point is None and self.program is None and self._match(pack, costs):
                waiting = self._packs(left, split)
                continue
            solver = self._solver(costs)
            found = solver.solve(self.face)
            if self._settle(pack, found):
                waiting = self._packs(left, split)
                continue
            if pack.levels[-1] > Level.SPLIT:
                return self._branch([pack, *waiting], solver)
            if len(pack.levels) > 1 and self._is_fractional(pack.levels[0], found):
                # Rounded up by itself the level bounds more than within the pack.
                self.program = None
                waiting[:0] = [Pack((level,), (1,), pack.span) for level in pack.levels]
            elif not self._close(pack, solver, found):
                return False
            else:
                waiting = self._packs(left, split)
        return True

    def _packs(self, levels: Sequence[Level], split: bool) -> list[Pack]:
        """The levels packed by what is left of them on the face; the first few, which can be
        held, by themselves."""
        spans = [(level, self._span(level)) for level in levels]
        last = Level.MOVED if split else Level.SPLIT
        parts = (
            [span for span in spans if span[0] <= last],
            [span for span in spans if last < span[0] <= Level.SPLIT],
            [span for span in spans if span[0] > Level.SPLIT],
        )
        return [pack for part in parts for pack in pack_levels(part, CAPACITY)]

    def _span(self, level: Level) -> int:
        model, face = self.model, self.face
        if self.point is None or level < Level.STANDING:
            return model.span(level)
        if level is Level.TIE:
            return face.open_seats(model) * TIE_SPAN + 1
        return face.spread(model, model.arc_cost(level, face.arcs)) + 1

    def _match(self, pack: Pack, costs: Costs) -> bool:
        """Begin with a matching; True where it keeps every side rule already."""
        model, face = self.model, self.face
        matched = match(model, costs, face)
        self.program = begin(model, matched)
        if matched is None:
            return False
        point = model.point(matched.arcs)
        if not model.is_feasible(point):
            return False
        prices = row_prices(model, matched, pack)
        block = block_of(pack, 1, prices)
        left = settled(model, point, block, face, prices)
        if left is not None:
            self._keep(point, block, left)
        return left is not None

    def _is_fractional(self, level: Level, found: Solved) -> bool:
        value = self.model.arc_cost(level, found.arcs) @ found.shares
        if len(found.others):
            value += self.model.other_cost(level) @ found.others
        return not whole(np.array([value]))

    def _settle(self, pack: Pack, found: Solved) -> bool:
        """Keep a pack's optimum; False where it is fractional or cannot be priced."""
        arcs = found.whole()
        if arcs is None:
            return False
        point = self.model.point(arcs)
        proven = exact_block(self.model, point, pack, found.prices, self.face)
        if proven is None:
            return False
        self._keep(point, *proven)
        return True

    def _close(self, pack: Pack, solver: Solver, found: Solved) -> bool:
        """Settle an early pack by branches, and hold its levels: few members move, so that the
        rows that hold them have small numbers."""
        self.branched = True
        tree = Tree(self.model, [pack], self.nodes, self.point)
        proof = tree.search(self.face, solver)
        self.nodes, self.point = tree.nodes, tree.best
        if proof is None or tree.best is None:
            return False
        bounded = best_bound(self.model, pack, solver.costs, found.prices, self.face)
        if bounded is None:
            return False
        block, bound = bounded
        left = bound.left(self.face, tree.costs[0])
        # Costs are whole: a gap below one says by itself that none is better.
        block = replace(block, proof=proof if left.gap >= block.scale else None)
        self._keep(tree.best, block, left)
        return True

    def _branch(self, packs: list[Pack], solver: Solver) -> bool:
        """Settle all packs that are left by branches."""
        self.branched = True
        tree = Tree(self.model, packs, self.nodes, self.point)
        proof = tree.search(self.face, solver)
        self.nodes, self.point = tree.nodes, tree.best
        if proof is None:
            return False
        self.blocks += proof.blocks
        self.branch = proof.branch
        return True

    def _keep(self, point: Point, block: Block, left: Left) -> None:
        self.point = point
        self.blocks.append(block)
        self.model, self.face = held(self.model, point, left, block)
        if left.gap:
            self.program = None

    def _widen(self) -> None:
        self.model, self.face = widened(self.model, self.face)
        self.program = Program(Part.whole(self.model), self.face.arcs)
        if self.point is not None:
            self.point = self.model.point(self.point.arcs)

    def _solver(self, costs: Costs) -> Solver:
        """What solves a pack: the few seats that are open, or all rows."""
        if self.point is not None and not self.model.is_wide:
            return solver_of(self.model, self.face, self.point, costs)
        if self.program is None:
            self.program = begin(self.model, match(self.model, costs, self.face))
        return Solver(self.face, costs, self.program, None)

    def answer(self) -> LinearAnswer:
        """What was found."""
        assert self.point is not None, "no pack is settled"
        certificate = Certificate(tuple(self.blocks), self.branch)
        return LinearAnswer(self.point.arcs, certificate, self.branched)


def begin(model: Model, matched: Matched | None) -> Program:
    """A program that begins where a matching stands."""
    part = Part.whole(model)
    if matched is None:
        return Program(part, _near(model))
    arcs = np.unique(np.concatenate([matched.arcs, matched.tree, _near(model)]))
    program = Program(part, arcs)
    program.begin(*at_prices(model, arcs, matched), feasible=False)
    return program


def _near(model: Model) -> Ints:
    """Who stays where they were, and those who stood nowhere on the seats nobody had: where
    there is a lineup there is one of these, whose other arcs are holes."""
    arcs = model.arcs
    had = np.zeros(len(arcs.seats), np.bool_)
    had[arcs.seat[arcs.stays]] = True
    stood = np.zeros(len(arcs.people.keys), np.bool_)
    stood[arcs.member[arcs.stays]] = True
    near = arcs.stays | arcs.seat_pinned[arcs.seat] | ~(had[arcs.seat] | stood[arcs.member])
    return np.flatnonzero(near)


def solve_linear(
    model: Model, nodes: int, tell: Tell = nobody
) -> tuple[LinearAnswer | None, Ints | None]:
    """The optimum but for SPLIT, with its proof; where it is not proven the best lineup known."""
    return _solve(model, nodes, tell, split=False)


def solve_split(
    model: Model, nodes: int, tell: Tell = nobody
) -> tuple[LinearAnswer | None, Ints | None]:
    """The same where the one without SPLIT splits a spot: that level gets its columns on the
    face of the levels before it."""
    return _solve(model, nodes, tell, split=True)


def _solve(
    model: Model, nodes: int, tell: Tell, *, split: bool
) -> tuple[LinearAnswer | None, Ints | None]:
    run = Run(model, Face.whole(model), nodes, tell)
    done = run.take(tuple(Level), split=split)
    best = None if run.point is None else run.point.arcs
    return (run.answer() if done else None), best
