"""What one line of the benchmark says: two times of the same run and their ratio."""

from __future__ import annotations

import statistics
import time
from collections.abc import Callable, Iterable
from dataclasses import asdict, dataclass
from typing import Any, TypeVar

T = TypeVar("T")


@dataclass(frozen=True)
class Ratio:
    """``value`` is the median over the seeds; ``at_least`` says which side of ``goal`` is good.

    ``capped`` means that the peer was stopped before it had its answer, so that the true ratio is
    larger than ``value``. ``failed`` counts seeds on which our side gave no proven answer; each
    counts as a ratio of 0. ``ours`` and ``theirs`` are median seconds, or what ``unit`` says.
    ``note`` is added to the line.
    """

    name: str
    peer: str
    value: float
    goal: float
    at_least: bool
    ours: float
    theirs: float
    seeds: int
    capped: bool = False
    failed: int = 0
    unit: str = "s"
    note: str = ""

    @property
    def met(self) -> bool:
        """Whether the measured value reaches the goal."""
        return self.value >= self.goal if self.at_least else self.value <= self.goal

    def line(self) -> str:
        """The ratio in one line of text."""
        sign = ">= " if self.capped else ""
        goal = f"goal {'>=' if self.at_least else '<='} {self.goal:g}"
        verdict = "met" if self.met else "not shown: peer capped" if self.capped else "NOT MET"
        notes = f"{self.seeds} seeds" + (", peer capped" if self.capped else "")
        if self.failed:
            notes += f", {self.failed} not proven by ours"
        if self.note:
            notes += f", {self.note}"
        value = f"{sign}{self.value:.3g}"
        times = f"{self.ours:.4g} {self.unit} against {self.theirs:.4g} {self.unit}"
        return f"{self.name:32} {self.peer:44} {value:>8}  {goal:13} {verdict} ({times}; {notes})"

    def as_json(self) -> dict[str, Any]:
        """The ratio as plain values."""
        return {**asdict(self), "met": self.met}


def timed(work: Callable[[], T], repeats: int = 1) -> tuple[float, T]:
    """The median seconds of the work, and what it returned last."""
    seconds: list[float] = []
    result: T | None = None
    for _ in range(repeats):
        start = time.perf_counter()
        result = work()
        seconds.append(time.perf_counter() - start)
    assert result is not None
    return statistics.median(seconds), result


def middle(values: Iterable[float]) -> float:
    """The median, 0 where there is nothing."""
    listed = list(values)
    return statistics.median(listed) if listed else 0.0
