"""A part of the model that is solved by itself, and objectives on a face."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from scipy import sparse

from drill.lineup.core.solver.face import Face
from drill.lineup.core.solver.index import Floats, Ints, runs
from drill.lineup.core.solver.model import Model
from drill.lineup.core.solver.packing import Pack

Int32s = npt.NDArray[np.int32]


@dataclass(frozen=True)
class Costs:
    """An objective: of the arcs of a face, and of the other columns."""

    arcs: Ints
    others: Ints

    @classmethod
    def of(cls, model: Model, pack: Pack, face: Face) -> Costs:
        """The packed levels."""
        arcs = model.packed(pack.levels, pack.weights, face.arcs)
        return cls(arcs, model.packed_others(pack.levels, pack.weights))

    @classmethod
    def none(cls, model: Model, face: Face) -> Costs:
        """Nothing costs anything."""
        return cls(np.zeros_like(face.arcs), np.zeros(model.others.shape[1], np.int64))

    def on(self, face: Face, smaller: Face) -> Costs:
        """The same on a face that is part of the one it was made for."""
        if smaller is face:
            return self
        return Costs(self.arcs[face.places(smaller.arcs)], self.others)


@dataclass(frozen=True)
class Part:
    """Rows of a model with the columns that are no arcs; ``limit`` is what is left for them.

    ``place`` is where each row of the model stands, -1 where it is left out, with one more entry
    for arcs that have no row. ``complete`` says that a program of it has all arcs from the start.
    """

    model: Model
    others: Ints
    rows: Ints
    place: Ints
    limit: Ints
    complete: bool = False

    @classmethod
    def whole(cls, model: Model) -> Part:
        place = np.append(np.arange(model.rows), -1)
        return cls(model, np.arange(model.others.shape[1]), place[:-1], place, model.limit)

    def entries(self, arcs: Ints) -> tuple[Int32s, Int32s, Floats]:
        """Where each arc's entries start (and the last ones end), their rows and values."""
        families = self.model.families
        rows = np.empty((len(arcs), len(families)), np.int32)
        values = np.empty((len(arcs), len(families)))
        for n, family in enumerate(families):
            rows[:, n], values[:, n] = self.place[family.row[arcs]], family.value_of(arcs)
        there = rows >= 0
        start = np.append(0, np.cumsum(there.sum(axis=1))).astype(np.int32)
        return start, rows[there], values[there]

    def other_entries(self) -> tuple[Int32s, Int32s, Floats]:
        """The same of the other columns."""
        matrix = self.model.others
        start, entry = entries_of(matrix, self.others)
        rows = self.place[matrix.indices[entry]]
        there = rows >= 0
        kept = np.append(0, np.cumsum(there))[start]
        values = matrix.data[entry][there].astype(np.float64)
        return kept.astype(np.int32), rows[there].astype(np.int32), values


def entries_of(matrix: sparse.csc_matrix, columns: Ints) -> tuple[Ints, Ints]:
    """Where the entries of each of the columns start (and the last ones end), and which they
    are in the matrix."""
    first, after = (matrix.indptr[columns + more].astype(np.int64) for more in (0, 1))
    count = after - first
    return np.append(0, np.cumsum(count)), runs(first, count)
