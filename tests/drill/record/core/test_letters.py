"""Letters: points by the best of a performance, and who may just miss one."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from drill.record.core.letters import Rule, Standing, credit_of
from drill.record.core.record import Outcome
from tests.examples import examples

RULE = Rule(marched=2, stood_by=1, needed=6)
M, S, F, X, A = Outcome
"""marched, stood by, was offered, missed, away"""


@pytest.mark.parametrize(
    ("events", "points"),
    [
        ([], 0),
        ([[M, M]], 2),
        ([[S, M]], 2),
        ([[S, F]], 1),
        ([[F], [X], [A]], 0),
        ([[M], [S], [S]], 4),
    ],
)
def test_a_performance_counts_once_by_its_best(events: list[list[Outcome]], points: int) -> None:
    assert credit_of(events, 0, RULE).points == points


@pytest.mark.parametrize(
    ("marched", "left", "standing", "may_miss"),
    [
        (3, 0, Standing.HAS, 0),
        (3, 2, Standing.HAS, 2),
        (1, 4, Standing.ON_COURSE, 2),
        (1, 2, Standing.NEAR, 0),
        (2, 0, Standing.NEAR, -1),
        (1, 1, Standing.NEAR, -1),
        (0, 1, Standing.OUT, -2),
        (0, 0, Standing.OUT, -3),
    ],
)
def test_standings(marched: int, left: int, standing: Standing, may_miss: int) -> None:
    found = credit_of([[M]] * marched, left, RULE)
    assert (found.standing, found.may_miss) == (standing, may_miss)


@examples(100, long=2_000)
@given(
    st.lists(st.lists(st.sampled_from(list(Outcome)), max_size=4), max_size=12),
    st.integers(0, 12),
    st.builds(Rule, st.integers(1, 4), st.integers(0, 3), st.integers(1, 30)),
)
def test_whoever_may_miss_some_has_it_by_marching_the_rest(
    events: list[list[Outcome]], left: int, rule: Rule
) -> None:
    """Against trying it: missing one more than that is one too many."""
    found = credit_of(events, left, rule)

    def has(missed: int) -> bool:
        rest = [[Outcome.MARCHED]] * (left - missed)
        return credit_of([*events, *rest], 0, rule).standing == Standing.HAS

    if found.may_miss >= 0:
        assert has(found.may_miss)
        assert found.may_miss == left or not has(found.may_miss + 1)
    else:
        assert not has(0)
