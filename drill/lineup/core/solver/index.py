"""Numbers of a problem's seats and members, as the solver counts them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from drill.lineup.core.problem import LineupProblem

Ints = npt.NDArray[np.int64]
Bools = npt.NDArray[np.bool_]


@dataclass(frozen=True)
class Index:
    """Positions of a canonical problem's rows."""

    problem: LineupProblem
    member: dict[str, int]
    spot: dict[str, int]
    segment: dict[str, int]
    rank: dict[str, int]
    part: dict[str, int]

    @classmethod
    def of(cls, problem: LineupProblem) -> Index:
        def positions(keys: Sequence[str]) -> dict[str, int]:
            return {key: i for i, key in enumerate(keys)}

        ranks = sorted({s.rank for s in problem.spots} | {r.key for r in problem.ranks})
        return cls(
            problem,
            positions([m.key for m in problem.members]),
            positions([s.key for s in problem.spots]),
            positions([g.key for g in problem.segments]),
            positions(ranks),
            positions([p.key for p in problem.parts]),
        )
