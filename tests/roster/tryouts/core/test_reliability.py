"""Shares of variance, what more looks would give, and each evaluator's way of marking."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import linregress

from roster.tryouts.core.agreement import Form, agreements, of_mean
from roster.tryouts.core.looks import Floats, Looks, Marks, Scale
from roster.tryouts.core.reliability import (
    HOW_MANY_LOOKS,
    Habit,
    Shares,
    fit_mixed,
    habits,
    shares_of,
)
from roster.tryouts.core.severity import fit_severity
from tests.roster.tryouts.core.building import Field, expected_of, looks_of, table_of, week

SHROUT_FLEISS = "Shrout & Fleiss 1979, Psychological Bulletin 86:420-428, Tables 2-4"


def six_targets() -> tuple[Looks, Floats]:
    rows = table_of("shrout_fleiss_1979.csv")
    table = np.array([[float(row[f"J{j}"]) for j in range(1, 5)] for row in rows])
    return looks_of([(c, e, 0, table[c, e]) for c in range(6) for e in range(4)]), table


@pytest.mark.source(SHROUT_FLEISS + ": components 2.555556, 5.244444, 1.019444")
def test_the_components_of_a_complete_panel_are_those_of_its_mean_squares() -> None:
    shares, expected = shares_of(fit_mixed(six_targets()[0])), expected_of("icc_expected.json")
    found = (shares.candidates, shares.evaluators, shares.rest)
    of = expected["variance_components"]
    assert found == pytest.approx([of["target"], of["judge"], of["error"]], rel=1e-4)
    assert shares.total == pytest.approx(sum(found))


@pytest.mark.source(SHROUT_FLEISS + ", by the fitted components, and Spearman & Brown 1910")
def test_what_more_looks_would_give_is_the_panel_s_agreement() -> None:
    looks, table = six_targets()
    shares, found = shares_of(fit_mixed(looks)), agreements(table)
    for number in HOW_MANY_LOOKS:
        raw, adjusted = (shares.agreement(number, adjusted=it) for it in (False, True))
        assert raw == pytest.approx(of_mean(found[Form.AGREEMENT].value, number), rel=1e-4)
        assert adjusted == pytest.approx(of_mean(found[Form.CONSISTENCY].value, number), rel=1e-4)


@given(st.floats(0, 100), st.floats(0, 100), st.floats(0.01, 100))
def test_more_looks_agree_better_and_adjusted_ones_no_worse(a: float, b: float, c: float) -> None:
    shares = Shares(a, b, c)
    raw, adjusted = (
        [shares.agreement(n, adjusted=it) for n in HOW_MANY_LOOKS] for it in (False, True)
    )
    assert raw == sorted(raw) and adjusted == sorted(adjusted)
    assert all(0 <= r <= d <= 1 for r, d in zip(raw, adjusted, strict=True))


def test_where_nothing_differs_there_is_no_agreement() -> None:
    assert np.isnan(Shares(0, 0, 0).agreement(3, adjusted=True))


def test_fitted_shares_come_near_those_the_weeks_were_made_from() -> None:
    """60 weeks made with variances 36, 25 and 16; measured means 37.4, 25.4 and 15.7."""
    rng = np.random.default_rng(11)
    field = Field(candidates=40, evaluators=8)
    found = []
    for _ in range(60):
        shares = shares_of(fit_mixed(week(rng, field).looks))
        found.append((shares.candidates, shares.evaluators, shares.rest))
    mean, error = np.mean(found, 0), np.std(found, 0) / np.sqrt(60)
    # Offsets are made with their mean taken out; the variance by n - 1 is not lowered by that.
    assert np.all(np.abs(mean - [36, 25, 16]) < 3.5 * error)


SCALES = (Scale(0, 10, 1), Scale(0, 10, 1))
Given = list[tuple[int, int, float, float]]


def made_habits(given_marks: Given, hours: list[float] | None = None) -> list[Habit]:
    """Looks of (candidate, evaluator, first mark, second mark), out of ten."""
    looks = looks_of([(c, e, 0, 5 * (a + b)) for c, e, a, b in given_marks])
    rows = np.arange(len(given_marks))
    marks = Marks(
        look=np.repeat(rows, 2),
        criterion=np.tile([0, 1], rows.size),
        value=np.array([it for *_, a, b in given_marks for it in (a, b)]),
    )
    when = np.array(hours if hours is not None else np.zeros(rows.size), dtype=float)
    return habits(fit_severity(looks), SCALES, marks, rows, when)


def test_halo_is_the_correlation_of_criteria_across_an_evaluator_s_looks() -> None:
    first, second = [2.0, 4, 5, 7, 8, 9], [3.0, 3, 6, 5, 9, 8]
    found = made_habits(
        [(c, 0, a, a) for c, a in enumerate(first)]
        + [(c, 1, a, b) for c, (a, b) in enumerate(zip(first, second, strict=True))]
    )
    assert found[0].halo == pytest.approx(1)
    assert found[1].halo == pytest.approx(np.corrcoef(first, second)[0, 1])
    assert [habit.looks for habit in found] == [6, 6]


def test_an_evaluator_who_keeps_to_the_middle_spreads_less() -> None:
    truth = [1.0, 3, 4, 6, 7, 9]
    found = made_habits(
        [(c, 0, t, t) for c, t in enumerate(truth)]
        + [(c, 1, 5 + (t - 5) / 2, 5 + (t - 5) / 2) for c, t in enumerate(truth)]
    )
    # Adjusted figures lie between the two, three quarters as far apart as the first has them.
    assert found[0].spread == pytest.approx(4 / 3) and found[1].spread == pytest.approx(2 / 3)


def test_drift_is_the_slope_of_what_remains_by_the_hour() -> None:
    hours = [0.0, 1, 2, 3, 4, 5]
    noise = [0.1, -0.2, 0.2, -0.1, 0.1, -0.1]
    given_marks = [
        (c, 0, 5 + 0.1 * h + n, 5 + 0.1 * h + n)
        for c, (h, n) in enumerate(zip(hours, noise, strict=True))
    ]
    given_marks += [(c, 1, 5.0, 5.0) for c in range(6)]
    found = made_habits(given_marks, [*hours, *hours])
    line = linregress(hours, [h + 10 * n for h, n in zip(hours, noise, strict=True)])
    # Figures of candidates take half of what only one of two evaluators does.
    assert found[0].drift == pytest.approx(line.slope / 2)
    assert found[1].drift == pytest.approx(-line.slope / 2)
    assert found[0].drift_error == pytest.approx(line.stderr / 2)


def test_too_little_to_tell_is_told_as_nothing() -> None:
    few = made_habits([(0, 0, 5, 5), (1, 0, 6, 6)])[0]
    assert np.isnan([few.spread, few.halo, few.drift, few.drift_error]).all()
    same = made_habits([(c, 0, 5, 5) for c in range(6)], [0, 1, 2, 3, 4, 5])[0]
    assert np.isnan([same.spread, same.halo]).all() and same.drift == pytest.approx(0)


def test_marks_of_looks_that_are_not_fitted_are_left_out() -> None:
    looks = looks_of([(c, 0, 0, 10.0 * c) for c in range(5)])
    marks = Marks(
        look=np.array([0, 0, 1, 1, 2, 2, 3, 3, 4, 4, 5, 5]),
        criterion=np.array([0, 1] * 6),
        value=np.array([1.0, 1, 2, 2, 3, 3, 4, 4, 5, 5, 0, 10]),
    )
    row_of = np.array([0, 1, 2, 3, 4, -1])
    found = habits(fit_severity(looks), SCALES, marks, row_of, np.zeros(5))
    assert found[0].halo == pytest.approx(1), "the sixth look would have broken it"
