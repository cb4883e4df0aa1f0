"""A linear program over a few scenarios: lessons in shares, a matching in each scenario in shares.

Its optimum is at or below what any lessons leave on these scenarios. Another draw would give
another value, so it is called a sample bound and nothing else.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from typing import Any

import numpy as np
from scipy.optimize import linprog
from scipy.sparse import csr_matrix

from drill.backups.core.backup_plan.scenarios import Event, Place, Scenarios
from drill.backups.core.coverage.result import Lesson

LARGEST = 40_000
"""columns of the largest linear program that is worth its time"""


def sample_bound(sample: Scenarios, each: int, locked: frozenset[Lesson]) -> float | None:
    """Mean holes of the linear program; None where it is too large or was not solved to its
    optimum."""
    rows = _Rows(sample.event, each, locked)
    wanted = 0
    for scenario in range(sample.count):
        wanted += rows.add(_present(sample, scenario))
        if rows.columns > LARGEST:
            return None
    if not rows.limits or not rows.columns:
        return wanted / sample.count
    entries = (np.array(rows.values), (np.array(rows.row), np.array(rows.column)))
    matrix: Any = csr_matrix(entries, (len(rows.limits), rows.columns))
    value = np.zeros(rows.columns)
    value[rows.filling] = -1.0
    answer = linprog(value, A_ub=matrix, b_ub=np.array(rows.limits), method="highs-ipm")
    if answer.status != 0 or answer.fun is None:
        return None
    return (wanted + answer.fun) / sample.count


def _present(sample: Scenarios, scenario: int) -> set[str]:
    return {m for m, out in sample.out.items() if not out >> scenario & 1}


class _Rows:
    """Rows of at-most form, written scenario by scenario."""

    def __init__(self, event: Event, each: int, locked: frozenset[Lesson]) -> None:
        self.event, self.locked = event, locked
        self.columns = 0
        self.filling: list[int] = []
        self.row: list[int] = []
        self.column: list[int] = []
        self.values: list[float] = []
        self.limits: list[float] = []
        self.lesson: dict[Lesson, int] = {}
        busy = Counter(lesson.member for lesson in locked)
        for member, places in event.may_learn.items():
            open_ = {Lesson(member, spot) for spot, _ in places} - locked
            row = self._limit(max(each - busy[member], 0))
            for lesson in sorted(open_):
                self.lesson[lesson] = self._put(row)
        for column in self.lesson.values():
            self._put(self._limit(1), column)

    def _limit(self, limit: float) -> int:
        self.limits.append(limit)
        return len(self.limits) - 1

    def _put(self, row: int, column: int | None = None, value: float = 1.0) -> int:
        if column is None:
            column = self.columns
            self.columns += 1
        self.row.append(row)
        self.column.append(column)
        self.values.append(value)
        return column

    def add(self, present: set[str]) -> int:
        """One scenario's matching; how many spots want somebody."""
        movers = self.event.movers
        wanted = [p for p in self.event.places if p[1] in movers or p[1] not in present]
        spot_row = {place: self._limit(1) for place in wanted}
        member_row: dict[str, int] = {}
        for member, place, lesson in self._arcs():
            if member in present and place in spot_row:
                if member not in member_row:
                    member_row[member] = self._limit(1)
                column = self._put(spot_row[place])
                self.filling.append(column)
                self._put(member_row[member], column)
                if lesson is not None:
                    row = self._limit(0)
                    self._put(row, column)
                    self._put(row, self.lesson[lesson], -1.0)
        return len(wanted)

    def _arcs(self) -> Iterator[tuple[str, Place, Lesson | None]]:
        event = self.event
        for place in event.places:
            if place[1] in event.movers:
                yield place[1], place, None
        for member, places in event.knows.items():
            for place in places:
                yield member, place, None
        for member, places in event.may_learn.items():
            for place in places:
                lesson = Lesson(member, place[0])
                yield member, place, None if lesson in self.locked else lesson
