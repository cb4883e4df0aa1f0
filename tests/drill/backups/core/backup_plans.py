"""Lines of a few marchers and their plans."""

from __future__ import annotations

from typing import Any

import numpy as np

from drill.backups.core.backup_plan import Plan, backup_plan
from drill.backups.core.backup_plan.scenarios import Event
from drill.backups.core.coverage.ground import ground_of
from drill.lineup.core.problem import LineupProblem, Member, Part, Placement, Segment, Skill, Spot
from drill.lineup.core.solver import solve

GAME = "game"
Known = frozenset[tuple[str, str]]


def line(spots: int, alternates: int, parts: int = 1) -> LineupProblem:
    """Spots 1-1, 1-2, ... with holders h1, h2, ... and alternates a1, a2, ...; part p0 is all's."""
    names = tuple(f"p{n}" for n in range(parts))
    rows = tuple(Spot(f"1-{n + 1}", "1", names[n % parts]) for n in range(spots))
    holders = tuple(
        Member(f"h{n + 1}", (Skill(s.part, True),), holds=s.key, rank="1")
        for n, s in enumerate(rows)
    )
    waiting = tuple(
        Member(
            f"a{n + 1}",
            tuple(Skill(p, True) for p in names[: 1 + n % parts]),
            rank="1",
            standing=n + 1,
            standing_part=names[n % parts if n % parts < parts else 0],
        )
        for n in range(alternates)
    )
    return LineupProblem(
        members=(*holders, *waiting),
        spots=rows,
        segments=(Segment(GAME, tuple(s.key for s in rows)),),
        parts=tuple(Part(p, "horn") for p in names),
        reference=tuple(((GAME, s.key), f"h{n + 1}") for n, s in enumerate(rows)),
    )


def homes(problem: LineupProblem) -> tuple[Placement, ...]:
    return solve(problem).placements


def known_to(problem: LineupProblem, *more: tuple[str, str]) -> Known:
    return frozenset((m.key, m.holds) for m in problem.members if m.holds) | frozenset(more)


def alternates(problem: LineupProblem) -> list[str]:
    return [m.key for m in problem.members if m.holds is None]


def plan_of(problem: LineupProblem, chances: dict[str, float], **values: Any) -> Plan:
    return backup_plan(
        problem,
        homes(problem),
        known=values.pop("known", known_to(problem)),
        learners=values.pop("learners", alternates(problem)),
        chances=chances,
        **values,
    )


def random_case(seed: int) -> tuple[LineupProblem, dict[str, float], Known]:
    rng = np.random.default_rng(seed)
    problem = line(int(rng.integers(3, 6)), 2, parts=int(rng.integers(1, 3)))
    chances = {m.key: float(rng.beta(0.8, 3)) for m in problem.members}
    pairs = [(m.key, s.key) for m in problem.members for s in problem.spots]
    more = [pair for pair in pairs if rng.random() < 0.1]
    return problem, chances, known_to(problem, *more)


def event_of(problem: LineupProblem, chances: dict[str, float], known: Known) -> Event:
    learners = frozenset(alternates(problem))
    return Event.of(ground_of(problem, homes(problem), known), learners, chances)
