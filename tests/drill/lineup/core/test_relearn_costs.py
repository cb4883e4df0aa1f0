"""Relearning of many pairs at once against the load of each."""

from __future__ import annotations

import random

import numpy as np
import pytest

from drill.field.core.field import UNITS_PER_STEP
from drill.lineup.core.relearn import loads
from drill.lineup.core.relearn_costs import Pairs, costs_of
from drill.lineup.core.set_gaps import Knowledge, ShowDrill, Target

CODES = ("a", "b", "c")


def drill_of(rng: random.Random, dots: int, sets: int) -> ShowDrill:
    points = np.array(
        [[[rng.randrange(-40, 40) * UNITS_PER_STEP // 2 for _ in range(2)] for _ in range(sets)]
         for _ in range(dots)], float,
    ).reshape(dots, sets, 2)  # fmt: skip
    for dot in range(dots):
        for index in range(sets):
            if rng.random() < 0.1:
                points[dot, index] = np.nan
    if dots:
        points[0] = np.nan
    codes = {
        (f"d{rng.randrange(max(dots, 1))}", index): frozenset(rng.sample(CODES, rng.randint(1, 3)))
        for index in range(sets)
        if rng.random() < 0.5
    }
    labels = tuple(f"d{n}" for n in range(dots))
    return ShowDrill(labels, tuple(str(n) for n in range(sets)), points, codes)


def knowledge_of(rng: random.Random, dots: int, sets: int) -> Knowledge:
    practised = {
        f"d{rng.randrange(dots + 1)}": frozenset(rng.choices(range(sets + 2), k=3))
        for _ in range(rng.choice((0, 0, 1, 3)))
    }
    return Knowledge(
        rng.choice((None, "1", "2")),
        rng.choice((None, "tpt", "cym")),
        rng.choice((None, "gone", *(f"d{n}" for n in range(dots)))),
        practised,
        rng.choice((None, frozenset(), frozenset(rng.sample(CODES, 2)))),
    )


@pytest.mark.parametrize("seed", range(60))
def test_every_pair_costs_what_its_load_says(seed: int) -> None:
    rng = random.Random(seed)
    dots, sets = rng.choice((0, 1, 4, 9)), rng.choice((0, 1, 5, 12))
    drill = drill_of(rng, dots, sets)
    knows = [knowledge_of(rng, dots, sets) for _ in range(6)]
    targets = [
        Target(rng.choice("12"), rng.choice(("tpt", "cym")), f"d{rng.randrange(dots + 1)}")
        for _ in range(8)
    ]
    found = [(m, t) for m in range(6) for t in range(8) if rng.random() < 0.7]
    member, target = np.array(found, np.int64).reshape(-1, 2).T
    costs, there = costs_of(drill, Pairs(knows, targets, member, target))
    expected = [loads(drill, knows[m], [targets[t]])[0] for m, t in found]
    assert costs[there].tolist() == [load.cost for load in expected if load.total]
    assert there.tolist() == [load.total > 0 for load in expected]
