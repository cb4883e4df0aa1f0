"""The cover plan: which alternate learns which spots, so that few holes are to be expected.

Lessons are chosen on one set of scenarios of who is out and judged on another that the choice
never saw, beside what a band does by hand. Expected matchings are not submodular in lessons, so
no ratio to the best plan is claimed.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping

import numpy as np
import numpy.typing as npt

from drill.core.cover_plan.bound import sample_bound
from drill.core.cover_plan.dealing import by_risk, plain
from drill.core.cover_plan.result import Estimate, Plan
from drill.core.cover_plan.scenarios import Event, Scenarios
from drill.core.cover_plan.search import find_lessons
from drill.core.coverage.ground import Known, ground_of
from drill.core.coverage.result import Lesson
from drill.core.problem import LineupProblem, Placement

__all__ = ["Estimate", "Plan", "cover_plan"]

TRAINING, HELD_OUT, SAMPLE = 1, 2, 3
"""streams of random numbers that share nothing"""

SAMPLE_SIZE = 60


def cover_plan(
    problem: LineupProblem,
    placements: Iterable[Placement],
    *,
    known: Known,
    learners: frozenset[str],
    chances: Mapping[str, float],
    lessons_each: int = 3,
    locked: frozenset[Lesson] = frozenset(),
    seed: int = 0,
    scenarios: int = 3000,
    held_out: int = 3000,
) -> Plan:
    """Lessons for the learners, at most ``lessons_each`` a member; ``locked`` ones stay and count.

    ``known`` are (member, spot) pairs known already, ``chances`` the chance of being out by
    member (0 where none is given). Equal input gives an equal plan, in whatever order of rows.
    """
    event = Event.of(ground_of(problem, tuple(placements), known), learners, chances)
    training = Scenarios.draw(event, scenarios, seed, TRAINING)
    board = training.start()
    lessons = find_lessons(board, lessons_each, locked)
    plain_lessons = plain(event, lessons_each, locked)
    unseen = Scenarios.draw(event, held_out, seed, HELD_OUT)
    after, by_hand = _holes(unseen, lessons), _holes(unseen, plain_lessons)
    return Plan(
        lessons=lessons,
        locked=tuple(sorted(locked)),
        plain_lessons=plain_lessons,
        holes=_estimate(after),
        before=_estimate(_holes(unseen, ())),
        plain=_estimate(by_hand),
        by_risk=_estimate(_holes(unseen, by_risk(event, lessons_each, locked))),
        saved=_estimate(by_hand - after),
        made_from=board.holes / scenarios,
        sample_bound=sample_bound(
            Scenarios.draw(event, SAMPLE_SIZE, seed, SAMPLE), lessons_each, locked
        ),
        seed=seed,
        scenarios=scenarios,
        held_out=held_out,
    )


def _holes(scenarios: Scenarios, lessons: Iterable[Lesson]) -> npt.NDArray[np.int64]:
    return scenarios.start().teach(lessons).holes_by_scenario()


def _estimate(values: npt.NDArray[np.int64]) -> Estimate:
    """The mean with a normal 95% interval's half-width."""
    spread = float(values.std(ddof=1)) if len(values) > 1 else 0.0
    return Estimate(float(values.mean()), 1.96 * spread / math.sqrt(max(len(values), 1)))
