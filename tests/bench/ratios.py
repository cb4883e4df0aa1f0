"""What one line of the benchmark says: two figures of the same run and their ratio."""

from __future__ import annotations

import gc
import statistics
import time
from collections.abc import Callable, Iterable, Sequence
from dataclasses import asdict, dataclass
from typing import Any, TypeVar

T = TypeVar("T")


@dataclass(frozen=True)
class Ratio:
    """``values`` has the ratio of every seed; the line says their median and spread, and
    ``at_least`` which side of ``goal`` is good.

    ``capped`` means that the peer was stopped before it had its answer, so that the true ratio is
    larger than what is said. ``failed`` counts seeds on which our side gave no proven answer; each
    counts as a ratio of 0. ``ours`` and ``theirs`` are median seconds, or what ``unit`` says.
    ``note`` is added to the line.
    """

    name: str
    peer: str
    values: Sequence[float]
    goal: float
    at_least: bool
    ours: float
    theirs: float
    capped: bool = False
    failed: int = 0
    unit: str = "s"
    note: str = ""

    @property
    def value(self) -> float:
        """The median over the seeds."""
        return middle(self.values)

    @property
    def noise(self) -> float:
        """How far the seeds are from their median, as a median; 0 of one seed."""
        return middle(abs(value - self.value) for value in self.values)

    @property
    def met(self) -> bool:
        """Whether the median reaches the goal."""
        return self.value >= self.goal if self.at_least else self.value <= self.goal

    @property
    def missed(self) -> bool:
        """Whether it misses the goal by more than the noise; a capped peer says nothing."""
        short = self.goal - self.value if self.at_least else self.value - self.goal
        return short > self.noise and not self.capped

    def line(self) -> str:
        """The ratio in one line of text."""
        sign = ">= " if self.capped else ""
        goal = f"goal {'>=' if self.at_least else '<='} {self.goal:g}"
        verdict = "met" if self.met else "not shown: peer capped" if self.capped else "NOT MET"
        if not self.met and not self.missed and not self.capped:
            verdict = "met but for the noise"
        low, high = min(self.values, default=0.0), max(self.values, default=0.0)
        notes = f"{len(self.values)} seeds {low:.3g} to {high:.3g}"
        notes += ", peer capped" if self.capped else ""
        if self.failed:
            notes += f", {self.failed} not proven by ours"
        if self.note:
            notes += f", {self.note}"
        value = f"{sign}{self.value:.3g}"
        times = f"{self.ours:.4g} {self.unit} against {self.theirs:.4g} {self.unit}"
        return f"{self.name:44} {self.peer:44} {value:>8}  {goal:13} {verdict} ({times}; {notes})"

    def as_json(self) -> dict[str, Any]:
        """The ratio as plain values."""
        return {**asdict(self), "value": self.value, "noise": self.noise, "met": self.met}


def timed(
    work: Callable[..., T], repeats: int = 1, of: Callable[[], object] | None = None
) -> tuple[float, T]:
    """The median seconds of the work, and what it returned last. ``of`` makes what it gets, anew
    each time and not timed."""
    seconds: list[float] = []
    result: T | None = None
    for _ in range(repeats):
        given = () if of is None else (of(),)
        gc.disable()  # as timeit does: what else is in memory is not the work's
        start = time.perf_counter()
        result = work(*given)
        seconds.append(time.perf_counter() - start)
        gc.enable()
    assert result is not None
    return statistics.median(seconds), result


def middle(values: Iterable[float]) -> float:
    """The median, 0 where there is nothing."""
    listed = list(values)
    return statistics.median(listed) if listed else 0.0
