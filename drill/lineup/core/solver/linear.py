"""Stage 2: the linear program with the side rules (leaders, stock, travel), by HiGHS.

Packs of levels are solved one after the other on the optimal face of those before. Prices are
scaled to integers and checked exactly, on all columns, so a whole-numbered answer comes with its
proof. Few columns are ever needed: the others are priced and taken in as they pay.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from typing import Any

import highspy
import numpy as np
import numpy.typing as npt

from drill.lineup.core.problem import Level
from drill.lineup.core.solver.certificate import take_block
from drill.lineup.core.solver.face import Face
from drill.lineup.core.solver.index import Ints
from drill.lineup.core.solver.model import AT_LEAST, AT_MOST, EQUAL, Model
from drill.lineup.core.solver.packing import Pack, pack_levels, weighted_sum
from drill.lineup.core.solver.result import Block, Certificate, NoLineup
from drill.lineup.core.solver.splitting import wide_vector, widened

CAPACITY = 1 << 36
SCALES = (1, 2, 3, 4, 6, 12, 60)
DUAL_SIMPLEX, PRIMAL_SIMPLEX = 1, 4
CHEAPER = 1e-6
PER_SEAT, PER_MEMBER = 2, 1

Floats = npt.NDArray[np.float64]


@dataclass(frozen=True)
class LinearAnswer:
    """A lineup with its proof."""

    x: Ints
    certificate: Certificate


class _Quiet(highspy.Highs):
    """HiGHS without callbacks: setting those up prints a banner that no option silences."""

    def __init__(self) -> None:
        super(highspy.Highs, self).__init__()
        self.setOptionValue("output_flag", False)
        self.callbacks = []


class Program:
    """A HiGHS model of the rows whose objective and bounds change from block to block.

    ``columns`` are the model's columns it has, all by default; the others are zero.
    """

    def __init__(self, model: Model, columns: Ints | None = None) -> None:
        self.model = model
        self.columns = np.arange(model.columns) if columns is None else columns
        self.solver: Any = _Quiet()
        for option, value in (
            ("threads", 1),
            ("presolve", "off"),
            ("solver", "simplex"),
            ("primal_feasibility_tolerance", 1e-9),
            ("dual_feasibility_tolerance", 1e-9),
        ):
            self.solver.setOptionValue(option, value)
        self.solver.passModel(_program(model, self.columns))
        self.solved = False

    def minimise(self, cost: Ints, face: Face) -> tuple[Floats, Floats]:
        """Column values and row prices of the optimum on the face; NoLineup when there is none."""
        self._aim(cost, face)
        return self._run()

    def _aim(self, cost: Ints, face: Face) -> None:
        model, solver, count = self.model, self.solver, len(self.columns)
        every = np.arange(count, dtype=np.int32)
        solver.changeColsCost(count, every, cost[self.columns].astype(np.float64))
        upper = np.where(face.free[self.columns], highspy.kHighsInf, 0.0)
        solver.changeColsBounds(count, every, np.zeros(count), upper)
        tight = np.flatnonzero(face.tight & (model.sense != EQUAL))
        for row in tight.tolist():
            solver.changeRowBounds(row, float(model.limit[row]), float(model.limit[row]))

    def _run(self) -> tuple[Floats, Floats]:
        solver = self.solver
        solver.setOptionValue("simplex_strategy", PRIMAL_SIMPLEX if self.solved else DUAL_SIMPLEX)
        solver.run()
        if solver.getModelStatus() != highspy.HighsModelStatus.kOptimal:
            raise NoLineup("the rules leave no lineup")
        self.solved = True
        solution = solver.getSolution()
        return self._spread(solution.col_value), np.array(solution.row_dual)

    def _spread(self, some: list[float]) -> Floats:
        """The values of the columns it has, among zeros for the others."""
        values = np.zeros(self.model.columns)
        values[self.columns] = some
        return values

    def branch(self, cost: Ints, face: Face, nodes: int) -> tuple[Floats | None, bool]:
        """The best whole-numbered values found in at most ``nodes`` nodes, and whether they are
        proven; the rows and bounds are those of the last ``minimise``."""
        solver, count = self.solver, len(self.columns)
        every = np.arange(count, dtype=np.int32)
        kinds = highspy.HighsVarType
        solver.changeColsIntegrality(count, every, np.full(count, kinds.kInteger))
        solver.setOptionValue("mip_max_nodes", nodes)
        solver.setOptionValue("mip_rel_gap", 0.0)
        solver.setOptionValue("mip_abs_gap", 0.999)
        solver.run()
        status = solver.getModelStatus()
        found = bool(solver.getInfo().primal_solution_status == highspy.kSolutionStatusFeasible)
        values = self._spread(solver.getSolution().col_value) if found else None
        solver.changeColsIntegrality(count, every, np.full(count, kinds.kContinuous))
        self.solved = False
        if status == highspy.HighsModelStatus.kInfeasible:
            raise NoLineup("the rules leave no lineup")
        return values, bool(status == highspy.HighsModelStatus.kOptimal)

    def add_row(self, cost: Ints, value: int) -> None:
        """Hold a cost at a value from now on."""
        columns = np.flatnonzero(cost).astype(np.int32)
        self.solver.addRow(
            float(value), float(value), len(columns), columns, cost[columns].astype(np.float64)
        )


class Growing(Program):
    """The same from few columns: who stays where they were, those who stood nowhere on the seats
    nobody had, and all that is no arc. Where there is a lineup there is one of these columns: its
    other arcs become holes. Arcs whose reduced cost is below zero come in until there are none;
    then the optimum is that of all columns.
    """

    def __init__(self, model: Model) -> None:
        super().__init__(model, _first_columns(model))
        self.by_column = model.matrix.tocsc()

    def minimise(self, cost: Ints, face: Face) -> tuple[Floats, Floats]:
        self._aim(cost, face)
        while True:
            values, prices = self._run()
            more = self._cheaper(cost, prices, face)
            if not len(more):
                return values, prices
            self._take(more, cost)

    def _cheaper(self, cost: Ints, prices: Floats, face: Face) -> Ints:
        """The best arcs below the prices: two of each seat and one of each member."""
        arcs = self.model.arcs
        reduced = (cost - self.model.matrix.T @ prices)[: arcs.size]
        missing = face.free[: arcs.size] & (reduced < -CHEAPER)
        missing[self.columns[self.columns < arcs.size]] = False
        found = np.flatnonzero(missing)
        chosen = [
            _least(found, reduced, arcs.seat, PER_SEAT),
            _least(found, reduced, arcs.member, PER_MEMBER),
        ]
        return np.unique(np.concatenate(chosen))

    def _take(self, more: Ints, cost: Ints) -> None:
        entries, count = self.by_column[:, more], len(more)
        self.solver.addCols(
            count,
            cost[more].astype(np.float64),
            np.zeros(count),
            np.full(count, highspy.kHighsInf),
            entries.nnz,
            entries.indptr[:-1].astype(np.int32),
            entries.indices.astype(np.int32),
            entries.data.astype(np.float64),
        )
        self.columns = np.concatenate([self.columns, more])


def _first_columns(model: Model) -> Ints:
    arcs = model.arcs
    had = np.zeros(len(arcs.seats), np.bool_)
    had[arcs.seat[arcs.stays]] = True
    stood = np.zeros(len(arcs.index.problem.members), np.bool_)
    stood[arcs.member[arcs.stays]] = True
    first = arcs.stays | arcs.seat_pinned[arcs.seat] | ~(had[arcs.seat] | stood[arcs.member])
    return np.append(np.flatnonzero(first), np.arange(arcs.size, model.columns))


def _least(arcs: Ints, value: Floats, group: Ints, most: int) -> Ints:
    """The ``most`` arcs of least value in each group."""
    order = arcs[np.lexsort((value[arcs], group[arcs]))]
    key = group[order]
    first = np.flatnonzero(np.diff(key, prepend=-1))
    place = np.arange(len(order)) - np.repeat(first, np.diff(np.append(first, len(order))))
    out: Ints = order[place < most]
    return out


def _program(model: Model, columns: Ints) -> highspy.HighsLp:
    limit = model.limit.astype(np.float64)
    matrix = model.matrix if len(columns) == model.columns else model.matrix[:, columns]
    program = highspy.HighsLp()
    program.num_col_ = len(columns)
    program.num_row_ = len(model.sense)
    program.col_cost_ = np.zeros(len(columns))
    program.col_lower_ = np.zeros(len(columns))
    program.col_upper_ = np.full(len(columns), highspy.kHighsInf)
    program.row_lower_ = np.where(model.sense == AT_MOST, -highspy.kHighsInf, limit)
    program.row_upper_ = np.where(model.sense == AT_LEAST, highspy.kHighsInf, limit)
    program.a_matrix_.format_ = highspy.MatrixFormat.kRowwise
    program.a_matrix_.start_ = matrix.indptr.astype(np.int32)
    program.a_matrix_.index_ = matrix.indices.astype(np.int32)
    program.a_matrix_.value_ = matrix.data.astype(np.float64)
    return program


@dataclass
class _Run:
    """Blocks solved one after the other, each on the face of those before."""

    program: Program
    face: Face
    blocks: list[Block] = field(default_factory=list)
    x: Ints | None = None

    def take(self, packs: Iterable[Pack]) -> bool:
        """Solve the packs; False where a face is fractional or cannot be priced."""
        return all(self._take(pack) for pack in packs)

    def _take(self, pack: Pack) -> bool:
        model, face = self.program.model, self.face
        packed = weighted_sum([model.cost(lv, face.free) for lv in pack.levels], pack.weights)
        values, duals = self.program.minimise(packed, face)
        rounded = whole(values)
        if rounded is None:
            return False
        self.x = wide_vector(model, rounded) if model.split else rounded
        block = _exact_block(model, self.x, pack, duals, face)
        if block is not None:
            self.blocks.append(block)
        return block is not None

    def answer(self, model: Model) -> LinearAnswer | None:
        """What was found, in the columns of the model it began with."""
        if self.x is None:
            return None
        return LinearAnswer(self.x[: model.columns], Certificate(tuple(self.blocks)))


def solve_linear(model: Model) -> LinearAnswer | None:
    """The optimum but for SPLIT, with its proof; None where a face is fractional or cannot be
    priced."""
    run = _Run(Growing(model), Face.whole(model))
    return run.answer(model) if run.take(pack_levels(model.spans(), CAPACITY)) else None


def solve_split(model: Model) -> LinearAnswer | None:
    """The optimum where the one without SPLIT splits a spot: that level gets its columns on the
    face of the levels before it."""
    before = [(level, span) for level, span in model.spans() if level < Level.SPLIT]
    run = _Run(Growing(model), Face.whole(model))
    if not run.take(pack_levels(before, CAPACITY)):
        return None
    wide, face = widened(model, run.face)
    spans = dict(wide.spans())
    later = [(level, span) for level, span in spans.items() if level > Level.SPLIT]
    own = pack_levels([(Level.SPLIT, spans[Level.SPLIT])], CAPACITY)
    rest = _Run(Program(wide, np.flatnonzero(face.free)), face, run.blocks)
    return rest.answer(model) if rest.take([*own, *pack_levels(later, CAPACITY)]) else None


def whole(values: Floats) -> Ints | None:
    """The values as whole numbers, or None when some are fractional."""
    rounded = np.rint(values)
    return rounded.astype(np.int64) if np.abs(values - rounded).max(initial=0) < 1e-6 else None


def _exact_block(model: Model, x: Ints, pack: Pack, duals: Floats, face: Face) -> Block | None:
    for scale in SCALES:
        prices = np.rint(duals * scale).astype(np.int64)
        if np.abs(duals * scale - prices).max(initial=0) > 1e-3:
            continue
        rows = np.flatnonzero(prices)
        block = Block(
            pack.levels,
            pack.weights,
            scale,
            tuple(zip(rows.tolist(), prices[rows].tolist(), strict=True)),
        )
        if take_block(model, x, block, face):
            return block
    return None
