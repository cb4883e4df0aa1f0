"""The backup plan: which alternate learns which spots, so that few holes are to be expected.

Deterministic: members and spots are taken by key, scenarios come from the seed.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping

import numpy as np
import numpy.typing as npt

from drill.backups.core.backup_plan.bound import sample_bound
from drill.backups.core.backup_plan.dealing import by_risk, plain
from drill.backups.core.backup_plan.result import Estimate, Plan
from drill.backups.core.backup_plan.scenarios import Event, Scenarios
from drill.backups.core.backup_plan.search import find_lessons
from drill.backups.core.coverage.ground import Known, ground_of
from drill.backups.core.coverage.result import Lesson
from drill.lineup.core.problem import LineupProblem, Placement

__all__ = ["Estimate", "Lesson", "Plan", "backup_plan"]

MADE_FROM, HELD_OUT, SAMPLE = 0, 1, 2
"""streams of the seed"""
NORMAL_95 = 1.96

Counts = npt.NDArray[np.int64]


def backup_plan(
    problem: LineupProblem,
    placements: Iterable[Placement],
    *,
    known: Known,
    learners: Iterable[str],
    lessons_each: int = 3,
    chances: Mapping[str, float],
    locked: frozenset[Lesson] = frozenset(),
    seed: int = 0,
    scenarios: int = 3000,
    held_out: int = 3000,
    bound_sample: int = 100,
) -> Plan:
    """At most ``lessons_each`` lessons for each learner, so that few holes are to be expected.

    ``chances`` gives each member's chance to be out, learners' too; 0 where none is given.
    ``locked`` lessons stay and count; who has one is a learner. A learner may learn what they
    are qualified for and may march in some segment. The lineup as given is what absences hit:
    pinned members go nowhere else, others who know a second spot may move. ``bound_sample``
    scenarios make the sample bound; 0: none.
    """
    everybody = frozenset(learners) | {lesson.member for lesson in locked}
    event = Event.of(ground_of(problem, placements, known), everybody, chances)
    plain_lessons = plain(event, lessons_each, locked)
    risk_lessons = by_risk(event, lessons_each, locked)
    training = Scenarios.draw(event, scenarios, seed, MADE_FROM)
    starts = ((), plain_lessons, risk_lessons)
    holes, found = _best(training, lessons_each, locked, starts)
    judge = Scenarios.draw(event, held_out, seed, HELD_OUT)
    ours, theirs = _holes(judge, found), _holes(judge, plain_lessons)
    sample = Scenarios.draw(event, bound_sample, seed, SAMPLE)
    return Plan(
        lessons=found,
        locked=tuple(sorted(locked)),
        plain_lessons=plain_lessons,
        holes=_estimate(ours),
        before=_estimate(_holes(judge, ())),
        plain=_estimate(theirs),
        by_risk=_estimate(_holes(judge, risk_lessons)),
        saved=_estimate(theirs - ours),
        made_from=holes / scenarios,
        sample_bound=sample_bound(sample, lessons_each, locked) if bound_sample else None,
        seed=seed,
        scenarios=scenarios,
        held_out=held_out,
    )


def _best(
    training: Scenarios,
    lessons_each: int,
    locked: frozenset[Lesson],
    starts: Iterable[tuple[Lesson, ...]],
) -> tuple[int, tuple[Lesson, ...]]:
    """The fewest holes in training, and the lessons that leave them.

    Greedy growth stops in a plan that no exchange leaves: the plans made by hand start others.
    """
    tried = []
    for start in starts:
        board = training.start()
        lessons = find_lessons(board, lessons_each, locked, start)
        tried.append((board.holes, lessons))
    return min(tried, key=lambda one: one[0])


def _holes(judge: Scenarios, lessons: Iterable[Lesson]) -> Counts:
    return judge.start().teach(lessons).holes_by_scenario()


def _estimate(values: Counts) -> Estimate:
    """The mean with its 95% half-width, by the normal approximation."""
    error = float(values.std(ddof=1)) / len(values) ** 0.5 if len(values) > 1 else float("inf")
    return Estimate(float(values.mean()), NORMAL_95 * error)
