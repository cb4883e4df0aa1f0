"""Agreement: the published tables, their intervals, and tables that say nothing."""

from __future__ import annotations

from fractions import Fraction

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from roster.tryouts.core.agreement import (
    Agreement,
    Form,
    Reading,
    agreements,
    concordance,
    mean_squares,
    of_mean,
    reading_of,
)
from roster.tryouts.core.looks import Floats
from tests.examples import examples
from tests.roster.tryouts.core.building import expected_of, table_of

SHROUT_FLEISS = "Shrout & Fleiss 1979, Psychological Bulletin 86:420-428, Tables 2-4"
WINES = "pingouin 0.7.0, dataset icc: 8 wines by 4 judges, and its intraclass_corr"
KOO_LI = "Koo & Li 2016, Journal of Chiropractic Medicine 15:155-163"
NAMES = dict(zip(Form, ("(1,1)", "(2,1)", "(3,1)", "(1,4)", "(2,4)", "(3,4)"), strict=True))


def shrout_fleiss() -> Floats:
    rows = table_of("shrout_fleiss_1979.csv")
    return np.array([[float(row[judge]) for judge in ("J1", "J2", "J3", "J4")] for row in rows])


@pytest.mark.source(SHROUT_FLEISS)
def test_the_analysis_of_variance_is_the_published_one() -> None:
    ms, exact = mean_squares(shrout_fleiss()), expected_of("icc_expected.json")["ms"]
    for got, name in zip(
        (ms.candidates, ms.within, ms.evaluators, ms.rest),
        ("BMS", "WMS", "JMS", "EMS"),
        strict=True,
    ):
        assert got == pytest.approx(float(Fraction(exact[name])), abs=1e-9)


@pytest.mark.source(SHROUT_FLEISS)
@pytest.mark.parametrize("form", Form)
def test_all_six_forms_and_their_95_percent_intervals(form: Form) -> None:
    expected, name = expected_of("icc_expected.json"), f"ICC{NAMES[form]}"
    found = agreements(shrout_fleiss())[form]
    assert found.form is form
    assert found.value == pytest.approx(float(Fraction(expected["exact"][name])), abs=1e-9)
    assert round(found.value, 2) == expected["published_2dp"][name]
    assert (found.low, found.high) == pytest.approx(expected["ci95"][name], abs=1e-6)


@pytest.mark.source(SHROUT_FLEISS + ": -.0967 to .6434 goes about, and is the 90% interval")
def test_the_interval_that_goes_about_is_that_of_90_percent() -> None:
    at_90 = agreements(shrout_fleiss(), level=0.9)[Form.ONE_WAY]
    assert (at_90.low, at_90.high) == pytest.approx((-0.0967, 0.6434), abs=5e-5)
    usual = agreements(shrout_fleiss())[Form.ONE_WAY]
    assert usual.low < at_90.low and at_90.high < usual.high


@pytest.mark.source(WINES)
def test_eight_wines_by_four_judges() -> None:
    judges = [
        [1, 1, 3, 6, 6, 7, 8, 9],
        [2, 3, 8, 4, 5, 5, 7, 9],
        [0, 3, 1, 3, 5, 6, 7, 9],
        [1, 2, 4, 3, 6, 2, 9, 8],
    ]
    wines = np.array(judges, dtype=float).T
    ms = mean_squares(wines)
    squares = (ms.candidates * 7, ms.evaluators * 3, ms.rest * 21)
    assert squares == pytest.approx((188.21875, 7.34375, 47.90625), abs=1e-9)
    values = [found.value for found in agreements(wines).values()]
    expected = [0.727521, 0.727689, 0.729487, 0.914384, 0.914450, 0.915159]
    assert values == pytest.approx(expected, abs=1e-6)


@pytest.mark.source("Spearman & Brown 1910, from ICC(1,1) and ICC(2,1) of Shrout & Fleiss 1979")
def test_more_looks_by_spearman_and_brown() -> None:
    one_way, sample = 448 / 2703, 184 / 635
    assert [of_mean(one_way, k) for k in (1, 2, 3, 4, 5, 8)] == pytest.approx(
        [0.165742, 0.284354, 0.373437, 0.442797, 0.498331, 0.613804], abs=1e-6
    )
    assert [of_mean(sample, k) for k in (1, 2, 3, 4, 5, 8)] == pytest.approx(
        [0.289764, 0.449328, 0.550349, 0.620051, 0.671043, 0.765471], abs=1e-6
    )


@pytest.mark.source(KOO_LI + ": judged on the interval, not on the value")
def test_a_panel_reads_from_poor_to_excellent_by_its_interval() -> None:
    found = agreements(shrout_fleiss())
    assert found[Form.AGREEMENT_MEAN].readings == (Reading.POOR, Reading.EXCELLENT)
    assert found[Form.CONSISTENCY_MEAN].readings == (Reading.MODERATE, Reading.EXCELLENT)
    assert found[Form.ONE_WAY].readings == (Reading.POOR, Reading.MODERATE)


@pytest.mark.source(KOO_LI)
@pytest.mark.parametrize(
    ("value", "reading"),
    [
        (-0.2, Reading.POOR),
        (0.4999, Reading.POOR),
        (0.5, Reading.MODERATE),
        (0.7499, Reading.MODERATE),
        (0.75, Reading.GOOD),
        (0.9, Reading.GOOD),
        (0.9001, Reading.EXCELLENT),
    ],
)
def test_the_four_words_of_agreement(value: float, reading: Reading) -> None:
    assert reading_of(value) is reading


def test_there_is_no_reading_without_a_value() -> None:
    assert Agreement(Form.ONE_WAY, np.nan, np.nan, np.nan).readings is None


@given(st.integers(2, 8), st.integers(2, 6), st.floats(0, 100))
def test_a_table_without_a_difference_has_no_agreement(n: int, k: int, figure: float) -> None:
    for found in agreements(np.full((n, k), figure)).values():
        assert np.isnan([found.value, found.low, found.high]).all()


@pytest.mark.parametrize("shape", [(1, 4), (4, 1)])
def test_one_candidate_or_one_evaluator_is_no_table(shape: tuple[int, int]) -> None:
    with pytest.raises(ValueError, match="two candidates"):
        mean_squares(np.arange(4.0).reshape(shape))


def test_a_table_with_a_gap_is_refused() -> None:
    table = shrout_fleiss()
    table[2, 1] = np.nan
    with pytest.raises(ValueError, match="every figure"):
        agreements(table)


def test_evaluators_who_differ_by_a_constant_are_consistent_but_do_not_agree() -> None:
    table = np.array([10.0, 20, 30])[:, None] + np.array([0.0, 10])
    found = agreements(table)
    assert found[Form.CONSISTENCY].value == pytest.approx(1)
    # Mean squares: candidates 200, evaluators 150, rest 0.
    assert found[Form.AGREEMENT].value == pytest.approx(200 / (200 + 2 * 150 / 3))
    assert found[Form.AGREEMENT].low < 200 / 300 < found[Form.AGREEMENT].high < 1
    assert found[Form.ONE_WAY].value == pytest.approx((200 - 50) / (200 + 50))


def test_evaluators_who_give_the_very_same_agree_without_doubt() -> None:
    for found in agreements(np.array([10.0, 20, 40])[:, None] + np.zeros(3)).values():
        assert (found.low, found.value, found.high) == pytest.approx((1, 1, 1))


def test_candidates_alike_to_evaluators_who_differ_do_not_agree_at_all() -> None:
    found = agreements(np.tile([60.0, 80.0, 71.0], (5, 1)))
    assert found[Form.ONE_WAY].value == pytest.approx(-1 / 2)
    assert np.isnan(found[Form.CONSISTENCY].value), "there is neither a difference nor a rest"


@examples(60, 400)
@given(st.integers(0, 2**32 - 1), st.integers(3, 12), st.integers(2, 6))
def test_intervals_hold_their_value_and_a_mean_agrees_better(seed: int, n: int, k: int) -> None:
    rng = np.random.default_rng(seed)
    table = rng.normal(70, 8, (n, 1)) + rng.normal(0, 4, k) + rng.normal(0, 5, (n, k))
    found = agreements(table)
    for each in found.values():
        assert each.low <= each.value <= each.high <= 1
    for one, mean in (
        (Form.ONE_WAY, Form.ONE_WAY_MEAN),
        (Form.AGREEMENT, Form.AGREEMENT_MEAN),
        (Form.CONSISTENCY, Form.CONSISTENCY_MEAN),
    ):
        if found[one].value > 0:
            assert found[mean].value >= found[one].value
    moved = agreements(3 + 0.5 * table[rng.permutation(n)][:, rng.permutation(k)])
    for form, each in found.items():
        assert moved[form].value == pytest.approx(each.value, abs=1e-9), "order, unit and zero"


def test_intervals_of_consistency_hold_the_truth_as_often_as_they_say() -> None:
    """1,500 tables of 8 candidates by 4 evaluators, truth 1/2; measured 93.8%."""
    rng = np.random.default_rng(5)
    inside = 0
    for _ in range(1500):
        table = rng.normal(0, 5, (8, 1)) + rng.normal(0, 5, (8, 4)) + rng.normal(0, 9, 4)
        found = agreements(table)[Form.CONSISTENCY]
        inside += found.low <= 0.5 <= found.high
    assert inside / 1500 == pytest.approx(0.95, abs=0.02)


def case(name: str) -> dict[str, list[list[float]]]:
    cases = {case["name"]: case for case in expected_of("kendall_friedman.json")}
    found: dict[str, list[list[float]]] = cases[name]
    return found


@pytest.mark.source("Siegel 1956, Nonparametric Statistics, p. 229ff; from memory")
def test_three_executives_rank_six_applicants() -> None:
    found = concordance(np.array(case("Siegel 1956 3 executives x 6 applicants")["ranks"]).T)
    assert found.w == pytest.approx(25.5 / 157.5, abs=1e-12)
    assert found.chi_square == pytest.approx(2.428571, abs=1e-6) and found.freedom == 5


@pytest.mark.source("NAG Library, g08daf example (Siegel 1956): W .828, p .008, with ties")
def test_three_rankings_of_ten_with_ties() -> None:
    found = concordance(np.array(case("NAG g08daf (Siegel 1956) ties")["scores"]).T)
    assert found.w == pytest.approx(0.827731, abs=1e-6)
    assert found.chi_square == pytest.approx(22.348739, abs=1e-6)
    assert found.chance == pytest.approx(0.007837, abs=1e-6)
    assert (round(found.w, 3), round(found.chance, 3)) == (0.828, 0.008)


@pytest.mark.source("ProofWiki, Kendall's Coefficient of Concordance, arbitrary example 1")
def test_four_judges_and_three_competitors() -> None:
    found = concordance(np.array(case("ProofWiki arbitrary example 1")["ranks"]).T)
    assert found.w == pytest.approx(1 / 16, abs=1e-12)


@pytest.mark.source("Hollander & Wolfe 1973, p. 140, rounding first base: 11.143, p .003805")
def test_rounding_first_base() -> None:
    rows = table_of("rounding_times_hollander_wolfe.csv")
    found = concordance(np.array([[float(v) for v in row.values()] for row in rows]).T)
    assert found.chi_square == pytest.approx(11.142857, abs=1e-6) and found.freedom == 2
    assert found.w == pytest.approx(0.2532468, abs=1e-7)
    assert found.chance == pytest.approx(0.003805, abs=1e-6)


@pytest.mark.source("NAG Library, g08aef example; 8.583 is printed without correction for ties")
def test_ties_are_corrected_for_where_the_printed_value_does_not() -> None:
    ranks = np.array(case("NAG g08aef Friedman")["ranks_by_condition"])
    found = concordance(ranks)
    assert found.chi_square == pytest.approx(8.704225, abs=1e-6)
    assert found.chi_square == pytest.approx(stats.friedmanchisquare(*ranks).statistic, abs=1e-9)


@pytest.mark.source(SHROUT_FLEISS + ", ranked by judge; W computed with SciPy")
def test_the_table_of_six_targets_ranked() -> None:
    found = concordance(shrout_fleiss())
    assert found.w == pytest.approx(0.887037, abs=1e-6)
    assert (found.chi_square, found.chance) == pytest.approx((17.740741, 0.00329), abs=1e-6)


def test_evaluators_who_give_everybody_the_same_rank_nobody() -> None:
    found = concordance(np.full((5, 3), 42.0))
    assert np.isnan([found.w, found.chi_square, found.chance]).all() and found.freedom == 4


def test_the_same_order_and_opposite_orders_are_the_ends_of_concordance() -> None:
    up = np.arange(6.0)
    assert concordance(np.column_stack([up, up**2, up * 3])).w == pytest.approx(1)
    assert concordance(np.column_stack([up, -up])).w == pytest.approx(0)


def test_a_mean_of_looks_that_agree_less_than_chance_allows_has_no_finite_figure() -> None:
    assert of_mean(-1 / 2, 3) == -np.inf and of_mean(-0.9, 3) == -np.inf
    assert np.isnan(of_mean(np.nan, 3))
    assert agreements(np.tile([60.0, 80.0], (5, 1)))[Form.ONE_WAY_MEAN].value == -np.inf


def test_two_evaluators_who_exchange_two_candidates_agree_as_little_as_can_be() -> None:
    found = agreements(np.array([[60.0, 80.0], [80.0, 60.0]]))
    assert found[Form.CONSISTENCY].value == found[Form.ONE_WAY].value == -1
    assert found[Form.AGREEMENT].value == -np.inf
    assert found[Form.AGREEMENT].readings is None, "its interval is not defined"
