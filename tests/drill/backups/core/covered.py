"""Coverage of a problem in the lineup that its solver finds."""

from __future__ import annotations

from drill.backups.core.coverage import SegmentCoverage, coverage
from drill.lineup.core.problem import LineupProblem, Placement
from drill.lineup.core.solver import solve


def holders(problem: LineupProblem) -> tuple[Placement, ...]:
    return solve(problem).placements


def covered(
    problem: LineupProblem, known: frozenset[tuple[str, str]] | None = None
) -> SegmentCoverage:
    (segment,) = coverage(problem, holders(problem), known=known)
    return segment
