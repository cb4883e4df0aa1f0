"""A fundamental count by count, in words."""

from __future__ import annotations

from dataclasses import dataclass

from drill.fundamentals.core import STEP, Foot, Fundamental, Run


@dataclass(frozen=True)
class Row:
    """One count in numbers: steps from the start, degrees from the first facing."""

    count: int
    foot: str
    across: float
    forward: float
    facing: float
    horns: float

    @property
    def turned(self) -> str:
        """The facing in words: '90° left', empty straight ahead."""
        if not self.facing:
            return ""
        return f"{abs(self.facing):.4g}° {'left' if self.facing > 0 else 'right'}"


def rows(run: Run) -> list[Row]:
    """Count by count in numbers; the first row is the start."""
    feet: dict[int, Foot] = {p.count: p.foot for p in run.prints}
    return [
        Row(
            count,
            feet[count].value if count in feet else "",
            round(float(x) / STEP, 2) + 0.0,
            round(float(y) / STEP, 2) + 0.0,
            round(float(facing), 1) + 0.0,
            round(float(horns), 1) + 0.0,
        )
        for count, ((x, y), facing, horns) in enumerate(
            zip(run.points, run.facings, run.horns, strict=True)
        )
    ]


def shown_counts(it: Fundamental) -> int:
    """How many counts of a fundamental a picture shows: its own, or a short phrase."""
    if it.counts is not None:
        return it.counts
    return 4
