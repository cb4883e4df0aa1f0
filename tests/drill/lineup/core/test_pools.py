"""Standing counts within a pool: the rank's, or one list a part wherever it is played."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import replace

import pytest

from drill.lineup.core.candidates import candidates
from drill.lineup.core.problem import (
    LineupProblem,
    Member,
    Part,
    Pool,
    Segment,
    Settings,
    Skill,
    Spot,
)
from drill.lineup.core.solver import solve
from drill.travel.core.travel import first_reserve, trip


def two_ranks(pool: Pool) -> LineupProblem:
    """An open spot in rank 1; its alternate is the fifth, that of rank 2 the first."""
    part = (Skill("t"),)
    return LineupProblem(
        members=(
            Member("near", part, rank="1", standing=5, standing_part="t"),
            Member("first", part, rank="2", standing=1, standing_part="t"),
            Member("other", part, rank="1", standing=1, standing_part="u"),
        ),
        spots=(Spot("1-1", "1", "t"),),
        segments=(Segment("g", ("1-1",)),),
        parts=(Part("t", "trumpet"), Part("u", "trumpet")),
        settings=Settings(pool=pool),
    )


@pytest.mark.parametrize(
    ("pool", "order"),
    [
        (Pool.RANK, ["near", "other", "first"]),
        (Pool.SECTION, ["first", "near", "other"]),
        (Pool.BAND, ["first", "near", "other"]),
    ],
)
def test_candidates_come_in_the_order_of_the_pool(pool: Pool, order: list[str]) -> None:
    problem = two_ranks(pool)
    answer = solve(problem)
    assert answer.at("g", "1-1").member == order[0]
    found = [c.member for c in candidates(problem, {("g", "1-1"): None}, ("g", "1-1"))]
    assert found == order


@pytest.mark.parametrize(("pool", "who"), [(Pool.RANK, "near"), (Pool.BAND, "first")])
def test_who_travels_if_somebody_drops_out_follows_the_pool(pool: Pool, who: str) -> None:
    problem = two_ranks(pool)
    marched = Member("marcher", (Skill("t"),), holds="1-1", rank="1")
    problem = replace(
        problem,
        members=(*problem.members, marched),
        reference=((("g", "1-1"), "marcher"),),
    )
    placements = solve(problem).placements
    found = first_reserve(
        problem,
        trip(problem, placements, defaultdict(float)),
        placements,
        frozenset({"marcher"}),
        "t",
    )
    assert found is not None and found.member == who
