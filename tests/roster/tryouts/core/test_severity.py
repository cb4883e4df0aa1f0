"""Severity by least squares: worked examples, another library, and refusals."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction
from importlib import import_module

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from roster.tryouts.core.linking import Link
from roster.tryouts.core.looks import Looks, raw_figures
from roster.tryouts.core.severity import NotComparable, Severity, fit_severity, quantile
from tests.examples import examples
from tests.roster.tryouts.core.building import (
    Field,
    design,
    expected_of,
    looks_of,
    reordered,
    table_of,
    week,
)

MONTGOMERY = "Montgomery 2001, Design and Analysis of Experiments, incomplete block example"
S1: list[tuple[int, int, int, float]] = [
    *((c, 0, 0, y) for c, y in enumerate((88, 84, 81, 79, 86, 83, 80, 76))),
    *((c, 1, 0, y) for c, y in enumerate((90, 88, 85, 81))),
    *((c, 2, 0, y) for c, y in enumerate((79, 73, 70, 68), start=4)),
]


def catalysts() -> Severity:
    """Catalysts stand as candidates, batches as evaluators."""
    rows = table_of("montgomery_catalyst_bibd.csv")
    return fit_severity(
        looks_of([(int(r["catalyst"]) - 1, int(r["batch"]) - 1, 0, float(r["time"])) for r in rows])
    )


@pytest.mark.source(MONTGOMERY + ": adjusted means and batch effects in eighths")
def test_catalysts_freed_of_their_batches() -> None:
    fit, expected = catalysts(), expected_of("bibd_expected.json")
    assert fit.figure == pytest.approx(np.array(expected["adjusted_means"]), abs=1e-9)
    assert fit.offset == pytest.approx(np.array(expected["batch_effect_eighths"]) / 8, abs=1e-9)
    effects = np.array(expected["tau_hat_eighths"]) / 8
    assert fit.figure - expected["grand_mean"] == pytest.approx(effects, abs=1e-9)


@pytest.mark.source(MONTGOMERY)
def test_the_adjusted_order_of_catalysts_is_another_one() -> None:
    fit, expected = catalysts(), expected_of("bibd_expected.json")
    raw = raw_figures(fit.looks)
    assert raw == pytest.approx([float(Fraction(it)) for it in expected["raw_means"]], abs=1e-9)
    assert [1 + i for i in np.argsort(-raw)] == expected["rank_raw_best_first"]
    assert [1 + i for i in np.argsort(-fit.figure)] == expected["rank_adjusted_best_first"]


@pytest.mark.source(MONTGOMERY + ": MSE .65 on 5 degrees of freedom, SE of a difference .698212")
def test_the_errors_of_catalysts() -> None:
    fit, expected = catalysts(), expected_of("bibd_expected.json")
    assert fit.spread**2 == pytest.approx(expected["MSE"], abs=1e-9)
    assert fit.freedom == expected["df_error"]
    assert fit.rest @ fit.rest == pytest.approx(expected["SS_error"], abs=1e-9)
    for a, b in ((0, 1), (0, 3), (2, 1)):
        apart, error = fit.difference(a, b)
        assert apart == pytest.approx(fit.figure[a] - fit.figure[b])
        assert error == pytest.approx(expected["SE_difference"], abs=1e-9)
    assert fit.half_width() == pytest.approx(stats.t.ppf(0.975, 5) * fit.error)


@pytest.mark.source("Exact arithmetic: figures are candidate + evaluator without a rest")
def test_an_additive_table_is_taken_apart_exactly() -> None:
    case = expected_of("severity_exact_and_connectedness.json")["connected"]
    fit = fit_severity(
        looks_of([(c, e, 0, float(y)) for c, e, y in case["ratings_candidate_judge_score"]])
    )
    assert fit.figure == pytest.approx(case["adjusted"], abs=1e-9)
    assert fit.offset == pytest.approx(case["judge_effects_sum_to_zero"], abs=1e-9)
    assert raw_figures(fit.looks) == pytest.approx(case["raw_means"], abs=1e-9)
    assert fit.looks.figure.size - fit.freedom == case["rank"]
    assert fit.spread == pytest.approx(0, abs=1e-9)


@pytest.mark.source("Weeks & Williams 1964, Technometrics 6:319, connectedness; from memory")
def test_two_rooms_are_refused_and_the_look_that_would_link_them_is_named() -> None:
    case = expected_of("severity_exact_and_connectedness.json")["disconnected"]
    with pytest.raises(NotComparable) as refused:
        fit_severity(looks_of([(c, e, 0, 70.0 + c) for c, e in case["pairs"]]))
    assert refused.value.linking.parts == ((0, 1), (2, 3))
    assert refused.value.linking.links == (Link(0, 2, 0),)


def test_a_connected_graph_is_refused_where_sessions_could_explain_all() -> None:
    rows = [(0, 0, 0, 70.0), (1, 0, 0, 75.0), (0, 1, 0, 72.0)]
    rows += [(2, 1, 1, 80.0), (3, 1, 1, 60.0), (2, 0, 1, 81.0)]
    fit_severity(looks_of([(c, e, 0, y) for c, e, _, y in rows]))
    with pytest.raises(NotComparable) as refused:
        fit_severity(looks_of(rows))
    assert set(refused.value.linking.parts) == {(0, 1), (2, 3)}


@pytest.mark.source("Exact least squares of an invented week: offsets +23/12, +59/12, -41/6")
def test_the_harsh_evaluator() -> None:
    fit = fit_severity(looks_of(S1))
    assert fit.offset == pytest.approx([23 / 12, 59 / 12, -41 / 6], abs=1e-9)
    expected = [85.583, 82.583, 79.583, 76.583, 84.958, 80.458, 77.458, 74.458]
    assert fit.figure == pytest.approx(expected, abs=5e-4)
    assert raw_figures(fit.looks) == pytest.approx([89, 86, 83, 80, 82.5, 78, 75, 72])
    assert fit.freedom == 6
    assert fit.difference(5, 2) == pytest.approx((0.875, 1.058), abs=5e-4)


@pytest.mark.source("statsmodels, OLS with a column for each candidate, evaluator and session")
@pytest.mark.parametrize("seed", range(8))
def test_estimates_and_errors_are_those_of_another_library(seed: int) -> None:
    rng = np.random.default_rng(seed)
    rows = [
        (c, int(e), int(rng.integers(3)), rng.normal(70, 8))
        for c in range(12)
        for e in rng.choice(5, 3, replace=False)
    ]
    looks = looks_of(rows, evaluators=5, sessions=3)
    fit = fit_severity(looks)
    kept = np.delete(np.arange(20), [12, 17])  # the first evaluator and the first session are zero
    made = import_module("statsmodels.api").OLS(looks.figure, design(looks)[:, kept]).fit()
    average = np.repeat([1 / 5, 1 / 3], [5, 3])
    at_average = np.hstack([np.eye(12), np.tile(average, (12, 1))])
    contrast = np.zeros((5, 20))
    contrast[:, 12:17] = np.eye(5) - 1 / 5
    of_sessions = np.zeros((3, 20))
    of_sessions[:, 17:] = np.eye(3) - 1 / 3
    pair = at_average[[4]] - at_average[[9]]
    for rows_of, values, errors in (
        (at_average, fit.figure, fit.error),
        (contrast, fit.offset, fit.offset_error),
        (of_sessions, fit.session_offset, fit.session_error),
        (pair, np.array([fit.difference(4, 9)[0]]), np.array([fit.difference(4, 9)[1]])),
    ):
        test = made.t_test(rows_of[:, kept])
        assert values == pytest.approx(np.ravel(test.effect), abs=1e-8)
        assert errors == pytest.approx(np.ravel(test.sd), abs=1e-8)
    assert fit.freedom == made.df_resid and fit.spread**2 == pytest.approx(made.mse_resid)


def test_without_degrees_of_freedom_there_is_no_error() -> None:
    fit = fit_severity(looks_of([(0, 0, 0, 70.0), (1, 0, 0, 75.0), (1, 1, 0, 79.0)]))
    assert fit.freedom == 0 and np.isnan(fit.error).all() and np.isnan(fit.half_width()).all()
    assert fit.figure[1] - fit.figure[0] == pytest.approx(5)


def test_a_candidate_without_a_look_has_no_figure() -> None:
    looks = looks_of([(0, 0, 0, 70.0), (2, 0, 0, 75.0)], candidates=4)
    fit = fit_severity(looks)
    assert np.isnan(fit.figure[[1, 3]]).all() and np.isnan(fit.error[[1, 3]]).all()
    assert fit.figure[[0, 2]] == pytest.approx([70, 75])


def test_the_quantile_is_student_s() -> None:
    assert quantile(6, 0.95) == pytest.approx(2.446912, abs=1e-6)
    assert quantile(10_000, 0.95) == pytest.approx(1.96, abs=1e-3)
    assert np.isnan(quantile(0, 0.95))


def linked_week(seed: int) -> Looks:
    """Everybody saw the first candidate, so that all are linked."""
    looks = week(np.random.default_rng(seed), Field(candidates=8, evaluators=4, each=2)).looks
    kept = [
        (int(c), int(e), 0, float(y))
        for c, e, y in zip(looks.candidate, looks.evaluator, looks.figure, strict=True)
        if c
    ]
    return looks_of([(0, e, 0, 70.0 + e) for e in range(4)] + kept)


@examples(40, 400)
@given(st.integers(0, 10**6), st.integers(0, 3), st.floats(-20, 20))
def test_an_evaluator_who_gives_everybody_more_changes_no_figure_but_for_all_alike(
    seed: int, evaluator: int, more: float
) -> None:
    looks = linked_week(seed)
    before = fit_severity(looks)
    raised = looks.figure + np.where(looks.evaluator == evaluator, more, 0.0)
    after = fit_severity(replace(looks, figure=raised))
    assert after.figure - before.figure == pytest.approx(np.full(8, more / 4), abs=1e-7)
    assert after.rest == pytest.approx(before.rest, abs=1e-7)
    assert after.error == pytest.approx(before.error, abs=1e-7)
    assert abs(after.offset.sum()) < 1e-8


@examples(40, 400)
@given(st.integers(0, 10**6))
def test_the_order_of_looks_changes_nothing(seed: int) -> None:
    looks = linked_week(seed)
    order = np.random.default_rng(seed).permutation(looks.figure.size)
    one, other = fit_severity(looks), fit_severity(reordered(looks, order))
    assert one.figure == pytest.approx(other.figure, abs=1e-8)
    assert one.error == pytest.approx(other.error, abs=1e-8)
    assert one.rest[order] == pytest.approx(other.rest, abs=1e-8)
