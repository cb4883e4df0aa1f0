"""A problem as text and as a hash, the same wherever it is computed."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Iterable
from dataclasses import asdict, replace
from typing import Any

from drill.lineup.core.problem import LineupProblem


def canonical(problem: LineupProblem) -> LineupProblem:
    """The same problem with every row in the order of its key."""

    def by_key(rows: Iterable[Any]) -> tuple[Any, ...]:
        return tuple(sorted(rows, key=lambda row: row.key))

    return replace(
        problem,
        members=by_key(
            m if len(m.skills) < 2 else replace(m, skills=tuple(sorted(m.skills)))
            for m in problem.members
        ),
        spots=by_key(problem.spots),
        segments=by_key(replace(s, spots=tuple(sorted(s.spots))) for s in problem.segments),
        parts=by_key(problem.parts),
        ranks=by_key(problem.ranks),
        reference=tuple(sorted(problem.reference)),
        pins=tuple(sorted(problem.pins)),
        blocks=tuple(
            sorted(problem.blocks, key=lambda b: (b.member, b.segment or "", b.spot or ""))
        ),
        backups=tuple(sorted(problem.backups)),
        relearning=tuple(sorted(problem.relearning)),
        stock=tuple(sorted(problem.stock)),
    )


def problem_hash(problem: LineupProblem) -> str:
    """A hex digest that two problems share exactly when they say the same."""
    return problem_hashes(problem)[0]


def problem_hashes(problem: LineupProblem) -> tuple[str, str]:
    """The problem's digest, and the one it would have without a reference."""
    said = asdict(canonical(problem))
    return _digest(said), _digest(said | {"reference": ()})


def _digest(said: dict[str, Any]) -> str:
    def plain(value: object) -> object:
        if isinstance(value, frozenset):
            return sorted(value)
        raise TypeError(type(value).__name__)

    text = json.dumps(said, default=plain, sort_keys=True)
    return hashlib.sha256(text.encode()).hexdigest()
