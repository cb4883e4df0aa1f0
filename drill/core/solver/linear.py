"""Stage 2: the linear program with the side rules (leaders, stock, travel), by HiGHS.

Packs of levels are solved one after the other on the optimal face of those before. Prices are
scaled to integers and checked exactly, so a whole-numbered answer comes with its proof.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import highspy
import numpy as np
import numpy.typing as npt

from drill.core.solver.arcs import Ints
from drill.core.solver.certificate import Face, take_block
from drill.core.solver.model import AT_LEAST, AT_MOST, EQUAL, Model
from drill.core.solver.packing import Pack, pack_levels, weighted_sum
from drill.core.solver.result import Block, Certificate, NoLineup

CAPACITY = 1 << 36
SCALES = (1, 2, 3, 4, 6, 12, 60)
DUAL_SIMPLEX, PRIMAL_SIMPLEX = 1, 4

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
    """A HiGHS model of the rows whose objective and bounds change from block to block."""

    def __init__(self, model: Model) -> None:
        self.model = model
        self.solver: Any = _Quiet()
        for option, value in (
            ("threads", 1),
            ("presolve", "off"),
            ("solver", "simplex"),
            ("primal_feasibility_tolerance", 1e-9),
            ("dual_feasibility_tolerance", 1e-9),
        ):
            self.solver.setOptionValue(option, value)
        self.solver.passModel(_program(model))
        self.solved = False

    def minimise(self, cost: Ints, face: Face) -> tuple[Floats, Floats]:
        """Column values and row prices of the optimum on the face; NoLineup when there is none."""
        model, solver = self.model, self.solver
        count = model.columns
        every = np.arange(count, dtype=np.int32)
        solver.changeColsCost(count, every, cost.astype(np.float64))
        upper = np.where(face.free, highspy.kHighsInf, 0.0)
        solver.changeColsBounds(count, every, np.zeros(count), upper)
        tight = np.flatnonzero(face.tight & (model.sense != EQUAL))
        for row in tight.tolist():
            solver.changeRowBounds(row, float(model.limit[row]), float(model.limit[row]))
        solver.setOptionValue("simplex_strategy", PRIMAL_SIMPLEX if self.solved else DUAL_SIMPLEX)
        solver.run()
        if solver.getModelStatus() != highspy.HighsModelStatus.kOptimal:
            raise NoLineup("the rules leave no lineup")
        self.solved = True
        solution = solver.getSolution()
        return np.array(solution.col_value), np.array(solution.row_dual)

    def branch(self, cost: Ints, face: Face, nodes: int) -> tuple[Floats | None, bool]:
        """The best whole-numbered values found in at most ``nodes`` nodes, and whether they are
        proven; the rows and bounds are those of the last ``minimise``."""
        solver, count = self.solver, self.model.columns
        every = np.arange(count, dtype=np.int32)
        kinds = highspy.HighsVarType
        solver.changeColsIntegrality(count, every, np.full(count, kinds.kInteger))
        solver.setOptionValue("mip_max_nodes", nodes)
        solver.setOptionValue("mip_rel_gap", 0.0)
        solver.setOptionValue("mip_abs_gap", 0.999)
        solver.run()
        status = solver.getModelStatus()
        found = bool(solver.getInfo().primal_solution_status == highspy.kSolutionStatusFeasible)
        values = np.array(solver.getSolution().col_value) if found else None
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


def _program(model: Model) -> highspy.HighsLp:
    limit = model.limit.astype(np.float64)
    program = highspy.HighsLp()
    program.num_col_ = model.columns
    program.num_row_ = len(model.sense)
    program.col_cost_ = np.zeros(model.columns)
    program.col_lower_ = np.zeros(model.columns)
    program.col_upper_ = np.full(model.columns, highspy.kHighsInf)
    program.row_lower_ = np.where(model.sense == AT_MOST, -highspy.kHighsInf, limit)
    program.row_upper_ = np.where(model.sense == AT_LEAST, highspy.kHighsInf, limit)
    program.a_matrix_.format_ = highspy.MatrixFormat.kRowwise
    program.a_matrix_.start_ = model.matrix.indptr.astype(np.int32)
    program.a_matrix_.index_ = model.matrix.indices.astype(np.int32)
    program.a_matrix_.value_ = model.matrix.data.astype(np.float64)
    return program


def solve_linear(model: Model) -> LinearAnswer | None:
    """The optimum and its proof; None where a face is fractional or cannot be priced."""
    program, face = Program(model), Face.whole(model)
    blocks: list[Block] = []
    x: Ints | None = None
    for pack in pack_levels(model.spans(), CAPACITY):
        packed = weighted_sum([model.cost(lv, face.free) for lv in pack.levels], pack.weights)
        values, duals = program.minimise(packed, face)
        x = whole(values)
        block = None if x is None else _exact_block(model, x, pack, duals, face)
        if block is None:
            return None
        blocks.append(block)
    return None if x is None else LinearAnswer(x, Certificate(tuple(blocks)))


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
