"""Challenges: weighted means without rounding, ties, several challengers."""

from __future__ import annotations

import random
import statistics
from decimal import Decimal
from fractions import Fraction

import pytest

from drill.challenges.core.challenges import (
    Criterion,
    Figures,
    Mark,
    Reason,
    complete,
    figures,
    settle,
)
from drill.challenges.wording import challenge_sentence, figure_texts

CRITERIA = (Criterion(1, 10, 2), Criterion(2, 20, 1))


def marks_of(evaluator: int, challenger: tuple[str, str], holder: tuple[str, str]) -> list[Mark]:
    return [
        Mark(evaluator, criterion, side, Decimal(value))
        for side, values in ((True, challenger), (False, holder))
        for criterion, value in enumerate(values, 1)
    ]


def test_a_weighted_mean_by_hand() -> None:
    """Shares of the highest mark, out of ten: (2 * 8 + 1 * 7.5) / 3 and (2 * 7 + 1 * 9) / 3."""
    found = figures(CRITERIA, marks_of(1, ("8", "15"), ("7", "18")))
    assert found == Figures(Fraction(47, 6), Fraction(23, 3), 1)


@pytest.mark.source("Python's statistics.fmean with weights and statistics.mean of Fractions")
@pytest.mark.parametrize("seed", range(40))
def test_figures_agree_with_the_standard_library(seed: int) -> None:
    draw = random.Random(seed)
    criteria = [
        Criterion(n, draw.choice((5, 10, 20, 100)), draw.randint(1, 5))
        for n in range(1, draw.randint(2, 6))
    ]
    values = {
        (who, c.key, side): Decimal(draw.randint(0, 4 * c.top)) / 4
        for who in range(draw.randint(1, 5))
        for c in criteria
        for side in (True, False)
    }
    found = figures(criteria, [Mark(*cell, value) for cell, value in values.items()])
    assert found is not None
    for side, figure in ((True, found.challenger), (False, found.holder)):
        people = sorted({who for who, _, _ in values})
        shares = [
            [10 * Fraction(values[who, c.key, side]) / c.top for c in criteria] for who in people
        ]
        weights = [c.weight for c in criteria]
        exact = statistics.mean(
            [s for row in shares for s, w in zip(row, weights, strict=True) for _ in range(w)]
        )
        assert figure == exact
        rough = statistics.mean([statistics.fmean(row, weights) for row in shares])
        assert float(figure) == pytest.approx(rough)


def test_a_tie_that_floats_would_miss() -> None:
    """0.1 + 0.2 against 0.3: equal, though binary floats say otherwise."""
    criteria = [Criterion(n, 10, 1) for n in (1, 2)]
    assert 0.1 + 0.2 != 0.3
    found = figures(criteria, marks_of(1, ("0.1", "0.2"), ("0.3", "0")))
    assert found is not None and found.margin == 0
    assert settle({1: found})[1].reason is Reason.EQUAL


def test_only_evaluators_who_marked_everything_count() -> None:
    whole = marks_of(1, ("8", "16"), ("8", "16"))
    partly = marks_of(2, ("10", "20"), ("0", "0"))[:-1]
    assert complete(CRITERIA, whole + partly) == [1]
    found = figures(CRITERIA, whole + partly)
    assert found == Figures(Fraction(8), Fraction(8), 1)
    assert figures(CRITERIA, partly) is None
    assert figures((), []) is None, "nothing to mark is nothing to decide by"


def test_marks_on_what_is_no_longer_marked_do_not_count() -> None:
    extra = [Mark(1, 9, True, Decimal(10)), Mark(1, 9, False, Decimal(0))]
    found = figures(CRITERIA, marks_of(1, ("8", "16"), ("8", "16")) + extra)
    assert found is not None and found.margin == 0


def margin(challenger: str, holder: str = "8") -> Figures:
    return Figures(Fraction(challenger), Fraction(holder), 3)


@pytest.mark.parametrize(
    ("challenges", "won", "reasons"),
    [
        ({1: margin("8.25", "8.25")}, [], [Reason.EQUAL]),
        ({1: margin("8.01")}, [1], [Reason.HIGHER]),
        ({1: margin("7.99")}, [], [Reason.LOWER]),
        ({1: margin("9"), 2: margin("8.5")}, [1], [Reason.HIGHER, Reason.BEATEN]),
        # the margin over the holder counts, not the figure: side by side they met the holder twice
        ({1: margin("9", "8.8"), 2: margin("8.5", "7")}, [2], [Reason.BEATEN, Reason.HIGHER]),
        ({1: margin("9"), 2: margin("9")}, [], [Reason.SHARED, Reason.SHARED]),
        (
            {1: margin("9"), 2: margin("9"), 3: margin("8.5"), 4: margin("8")},
            [],
            [Reason.SHARED, Reason.SHARED, Reason.BEATEN, Reason.EQUAL],
        ),
        ({1: margin("7"), 2: margin("7")}, [], [Reason.LOWER, Reason.LOWER]),
        ({}, [], []),
    ],
)
def test_who_takes_the_spot(
    challenges: dict[int, Figures], won: list[int], reasons: list[Reason]
) -> None:
    found = settle(challenges)
    assert [key for key, verdict in found.items() if verdict.won] == won
    assert [found[key].reason for key in challenges] == reasons


def test_the_sentence_says_the_figures_and_why() -> None:
    outcome = {"challenger": "33/4", "holder": "33/4", "evaluators": 3, "reason": "equal"}
    assert (
        challenge_sentence(outcome)
        == "8.25 to 8.25: tied, the holder keeps the spot (3 evaluators)"
    )


def test_figures_that_differ_never_look_alike() -> None:
    third = Fraction(25, 3)
    assert figure_texts(third, third) == ("8.33", "8.33")
    assert figure_texts(third, Fraction("8.333")) == ("8.3333", "8.3330")
    assert figure_texts(Fraction(8), Fraction(8) + Fraction(1, 10**12)) == (
        "8",
        "8000000000001/1000000000000",
    )
