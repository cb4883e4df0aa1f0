"""Evaluation sequences: equal use, in the square, back on the spot and on the foot."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from drill.fundamentals.core import STEP, Foot
from drill.fundamentals.core.sequences import (
    EvaluationSequence,
    Lack,
    NoSequence,
    make_sequences,
    sequence_of,
)
from tests.drill.fundamentals.core.built_in import BUILT_IN, EPSILON
from tests.examples import examples

FLANKS = ("forward", "left-flank", "right-flank", "to-the-rear")


def make(
    *codes: str, counts: int = 32, square: float = 16, groups: int = 3, seed: int = 1
) -> tuple[EvaluationSequence, ...]:
    chosen = [BUILT_IN[code] for code in codes]
    return make_sequences(chosen, BUILT_IN, counts=counts, square=square, groups=groups, seed=seed)


@examples(15, long=150)
@given(
    st.sets(st.sampled_from(sorted(BUILT_IN)), min_size=1, max_size=5),
    st.sampled_from([24, 32, 48, 64]),
    st.sampled_from([8.0, 12.0, 16.0]),
    st.integers(1, 3),
    st.integers(0, 10**6),
)
def test_what_every_sequence_keeps(
    codes: set[str], counts: int, square: float, groups: int, seed: int
) -> None:
    try:
        made = make(*sorted(codes), counts=counts, square=square, groups=groups, seed=seed)
    except NoSequence:
        assume(False)
    assert len(made) == groups
    assert len({it.blocks for it in made}) == groups
    for it in made:
        assert it.run.counts == counts
        assert it.run.end == pytest.approx((0, 0), abs=EPSILON)
        assert np.abs(it.run.points).max() <= square / 2 * STEP + EPSILON
        assert it.run.prints[0].foot is Foot.LEFT
        assert it.run.next_foot is Foot.LEFT
        assert not it.run.wrong_foot
        uses = [it.uses[code] for code in codes]
        assert max(uses) - min(uses) <= 1
        assert set(it.uses) <= codes
        assert it.uses == made[0].uses
        assert it.difficulty == made[0].difficulty


def test_the_same_seed_makes_the_same_sequences() -> None:
    assert [s.blocks for s in make(*FLANKS)] == [s.blocks for s in make(*FLANKS)]
    assert [s.blocks for s in make(*FLANKS)] != [s.blocks for s in make(*FLANKS, seed=2)]


def test_difficulty_is_the_weight_of_every_use() -> None:
    it = sequence_of((("forward", 8), ("to-the-rear", 8), ("to-the-rear", 4)), BUILT_IN)
    assert it.difficulty == BUILT_IN["forward"].difficulty + 2 * BUILT_IN["to-the-rear"].difficulty
    assert it.run.counts == 20


def test_steps_that_never_cancel_are_brought_back_by_turning_a_part() -> None:
    it = make("forward", "quarter-curve-left", "quarter-curve-right", "left-flank", counts=64)[0]
    assert it.run.end == pytest.approx((0, 0), abs=EPSILON)


@pytest.mark.parametrize(
    ("codes", "counts", "lack", "needs"),
    [
        ((), 32, Lack.NONE_CHOSEN, 0),
        (FLANKS, 31, Lack.ODD, 0),
        (tuple(BUILT_IN), 32, Lack.TOO_SHORT, 68),
        (("forward",), 32, Lack.NOT_FOUND, 0),
    ],
)
def test_where_there_is_none_it_says_why(
    codes: tuple[str, ...], counts: int, lack: Lack, needs: int
) -> None:
    with pytest.raises(NoSequence) as error:
        make(*codes, counts=counts)
    assert (error.value.lack, error.value.needs) == (lack, needs)
