"""The backup plan of whole bands: fewer holes, the same in any order."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable
from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from drill.backups.core.backup_plan import backup_plan
from drill.backups.core.backup_plan.scenarios import Scenarios
from drill.lineup.core.problem import Segment
from tests.drill.backups.core.backup_plans import (
    GAME,
    alternates,
    event_of,
    homes,
    line,
    plan_of,
    random_case,
)
from tests.reference.bands import band


def test_what_a_plan_is_judged_on_is_not_what_it_was_made_from() -> None:
    problem, chances, known = random_case(7)
    plan = plan_of(problem, chances, known=known, scenarios=500, held_out=800)
    other = plan_of(problem, chances, known=known, scenarios=900, held_out=800)
    more = plan_of(problem, chances, known=known, scenarios=500, held_out=900)
    assert plan.before == other.before and plan.plain == other.plain
    assert (plan.lessons, plan.made_from) == (more.lessons, more.made_from)
    assert plan.before != more.before
    event = event_of(problem, chances, known)
    draws = [Scenarios.draw(event, 500, 0, stream).out for stream in range(3)]
    assert draws[0] != draws[1] != draws[2] != draws[0]
    judge = Scenarios.draw(event, 800, 0, 1).start().teach(plan.lessons)
    assert plan.holes.mean == judge.holes / 800


@pytest.mark.parametrize("seed", range(6))
def test_the_order_of_rows_changes_nothing(seed: int) -> None:
    problem, chances, known = random_case(300 + seed)
    rng = np.random.default_rng(seed)

    def shuffled(rows: Iterable[Any]) -> list[Any]:
        listed = list(rows)
        return [listed[n] for n in rng.permutation(len(listed))]

    other = replace(
        problem,
        members=tuple(shuffled(problem.members)),
        spots=tuple(shuffled(problem.spots)),
        segments=tuple(replace(g, spots=tuple(shuffled(g.spots))) for g in problem.segments),
        parts=tuple(shuffled(problem.parts)),
    )
    again = backup_plan(
        other,
        shuffled(homes(problem)),
        known=known,
        learners=shuffled(alternates(problem)),
        chances=dict(shuffled(chances.items())),
        lessons_each=2,
        scenarios=300,
        held_out=300,
        bound_sample=20,
    )
    assert again == plan_of(
        problem,
        chances,
        known=known,
        lessons_each=2,
        scenarios=300,
        held_out=300,
        bound_sample=20,
    )


def test_a_band_of_192_has_far_fewer_holes_than_in_plain_order() -> None:
    problem = band(192, side_rules=False)
    problem = replace(
        problem, blocks=(), members=tuple(replace(m, away=frozenset()) for m in problem.members)
    )
    rng = np.random.default_rng(1)
    chances = {m.key: float(rng.beta(0.6, 6.0)) for m in problem.members}
    plan = plan_of(problem, chances, scenarios=1000, held_out=1000, bound_sample=30)
    assert plan.sample_bound is not None
    assert plan.holes.mean < plan.by_risk.mean < plan.plain.mean < plan.before.mean
    assert plan.holes.mean + plan.holes.half_width < 0.7 * plan.plain.mean
    assert plan.saved.mean == pytest.approx(plan.plain.mean - plan.holes.mean)
    assert max(Counter(x.member for x in plan.lessons).values()) <= 3


def test_two_segments_with_the_same_spots_count_once() -> None:
    problem = line(3, 1)
    spots = tuple(s.key for s in problem.spots)
    double = replace(
        problem,
        segments=(Segment("after", spots), Segment(GAME, spots)),
        reference=tuple(((g, s), m) for g in ("after", GAME) for (_, s), m in problem.reference),
    )
    chances = {"h1": 0.2, "h2": 0.3, "h3": 0.4, "a1": 0.1}
    assert plan_of(double, chances) == plan_of(problem, chances)
