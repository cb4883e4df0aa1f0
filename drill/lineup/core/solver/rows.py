"""Rows of the linear model while it is written."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
from scipy import sparse

from drill.lineup.core.solver.index import Ints

EQUAL, AT_MOST, AT_LEAST = 0, -1, 1
NO_ROW = -1
"""An arc in no row of a family; as an index it means the entry after the last row's."""


@dataclass(frozen=True)
class Family:
    """Rows of one kind: each arc is in one of them, or in none. ``value`` is the same for all
    arcs, or each arc's."""

    row: Ints
    value: int | Ints = 1

    def value_of(self, arcs: Ints) -> int | Ints:
        """The values of some arcs."""
        return self.value if isinstance(self.value, int) else self.value[arcs]


@dataclass
class Rows:
    """Senses and limits of the rows, and what stands in them of columns that are no arcs."""

    sense: list[int] = field(default_factory=list)
    limit: list[int] = field(default_factory=list)
    row: list[Ints] = field(default_factory=list)
    column: list[Ints] = field(default_factory=list)
    value: list[int] = field(default_factory=list)

    def open(self, count: int, sense: int, limit: int) -> Ints:
        """Numbers of ``count`` new rows of one sense and limit."""
        first = len(self.sense)
        self.sense += [sense] * count
        self.limit += [limit] * count
        return np.arange(first, first + count)

    def put(self, row: Ints, column: Ints, value: int) -> None:
        """Write one coefficient into each (row, column)."""
        self.row.append(row)
        self.column.append(column)
        self.value.append(value)

    def matrix(self, columns: int) -> sparse.csc_matrix:
        """What was written, as rows x columns."""
        shape = (len(self.sense), columns)
        if not self.row:
            return sparse.csc_matrix(shape, dtype=np.int64)
        values = np.repeat(self.value, [len(row) for row in self.row])
        entries = (values, (np.concatenate(self.row), np.concatenate(self.column)))
        return sparse.csc_matrix(entries, shape, np.int64)
