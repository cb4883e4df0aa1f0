"""The cut: figures drawn towards the mean, and chances against published tables and draws."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import norm

from roster.tryouts.core.crossed import Crossed
from roster.tryouts.core.cut import (
    Believed,
    Group,
    at_the_mean,
    believed,
    chances,
    draw,
    expected_wrong,
    groups,
    kelley,
)
from roster.tryouts.core.looks import Floats
from roster.tryouts.core.reliability import fit_mixed, shares_of
from tests.roster.tryouts.core.building import Field, expected_of, looks_of, table_of, week

DUDEK = "Dudek 1979, Psychological Bulletin 86:335-337, the example; after Kelley 1947"
SHEPPARD = "Sheppard 1899, Philosophical Transactions A 192:101-167, orthants of two normals"
FRACTIONS = "Bivariate normal, computed with SciPy: tests/sources/classification_accuracy.csv"


@pytest.mark.source(DUDEK)
def test_kelley_s_estimates_and_their_errors() -> None:
    case = expected_of("kelley_dudek_1979.json")
    for example in case["cases"]:
        found = kelley(example["obs"], case["mean"], case["sd"], case["rxx"])
        assert found.estimate == pytest.approx(example["true_hat"], abs=1e-9)
        assert found.of_measurement == pytest.approx(case["SEM"], abs=1e-6)
        assert found.of_estimate == pytest.approx(case["SE_est"], abs=1e-6)
        assert found.of_prediction == pytest.approx(case["SE_pred"], abs=1e-6)
        if "ci95" in example:
            half = norm.ppf(0.975) * found.of_estimate
            interval = (found.estimate - half, found.estimate + half)
            assert interval == pytest.approx(example["ci95"], abs=1e-5)


@pytest.mark.source(DUDEK + "; observed 620 at a cut of 600: Phi(8/30) = .605137")
def test_a_figure_over_the_cut_belongs_there_by_chance_only() -> None:
    found = kelley(620, 500, 100, 0.9)
    one = alone(np.array([found.estimate]), found.of_estimate)
    share = (draw(one, 200_000, seed=1) > 600).mean()
    assert share == pytest.approx(0.605137, abs=0.004)


@pytest.mark.source("Shrout & Fleiss 1979, means of four judges drawn by r = 3680/4047; Kelley")
def test_means_of_judges_are_drawn_towards_their_mean() -> None:
    rows = table_of("shrout_fleiss_1979.csv")
    means = [np.mean([float(row[f"J{j}"]) for j in range(1, 5)]) for row in rows]
    found = [kelley(float(it), float(np.mean(means)), 1, 3680 / 4047).estimate for it in means]
    expected = [5.935765, 3.207819, 6.390423, 4.117134, 7.299738, 4.799121]
    assert found == pytest.approx(expected, abs=1e-6)
    looks = looks_of(
        [(c, j, 0, float(row[f"J{j + 1}"])) for c, row in enumerate(rows) for j in range(4)]
    )
    assert believed(fit_mixed(looks)).mean == pytest.approx(expected, abs=1e-4)


@pytest.mark.source(SHEPPARD)
def test_half_taken_at_the_mean() -> None:
    found = [at_the_mean(r) for r in (0.25, 0.5, 0.75)]
    assert [it.right for it in found] == pytest.approx([2 / 3, 3 / 4, 5 / 6], abs=1e-12)
    assert found[1].alike == pytest.approx(2 / 3, abs=1e-12)
    assert (at_the_mean(0).right, at_the_mean(1).alike) == pytest.approx((0.5, 1), abs=1e-12)


@pytest.mark.source(SHEPPARD + "; table computed with SciPy")
@pytest.mark.parametrize("row", table_of("classification_accuracy.csv"))
def test_shares_decided_rightly_at_the_mean(row: dict[str, str]) -> None:
    found = at_the_mean(float(row["reliability"]))
    assert found.right == pytest.approx(float(row["accuracy_cut_at_mean"]), abs=1e-6)
    assert found.alike == pytest.approx(float(row["consistency_cut_at_mean"]), abs=1e-6)


def alone(mean: Floats, own: float) -> Believed:
    """Nothing shared, and the variance known."""
    nothing = np.zeros((mean.size, 1))
    return Believed(mean, np.full(mean.size, own), nothing, np.zeros((1, 1)), 10**7)


@pytest.mark.source(FRACTIONS)
@pytest.mark.parametrize("row", table_of("classification_accuracy.csv")[1::2])
@pytest.mark.parametrize("percent", [10, 20, 30])
def test_how_many_of_those_taken_belong_there(row: dict[str, str], percent: int) -> None:
    """4,000 candidates whose figures lie at the normal's own places; whoever has the highest
    figures is taken, and 100 draws say who belongs there. A fixed cut stands for the quota."""
    r = float(row["reliability"])
    figures = norm.ppf((np.arange(4000) + 0.5) / 4000)
    known = alone(np.sqrt(r) * figures, float(np.sqrt(1 - r)))
    above = draw(known, 100, seed=percent) > norm.ppf(1 - percent / 100)
    chance = chances(above)
    taken = figures > norm.ppf(1 - percent / 100)
    # The error of a share of 40,000 and more draws is below .0025.
    published = float(row[f"P_true_top{percent}_given_selected"])
    assert chance[taken].mean() == pytest.approx(published, abs=0.01)
    right = 1 - expected_wrong(chance, taken) / 4000
    assert right == pytest.approx(float(row[f"accuracy_top{percent}"]), abs=0.004)


def correlated() -> Believed:
    rng = np.random.default_rng(4)
    root = rng.normal(size=(3, 3))
    return Believed(
        mean=np.array([70.0, 60, 80, 75]),
        own=np.array([2.0, 3, 1, 0]),
        lean=rng.normal(size=(4, 3)),
        covariance=root @ root.T,
        freedom=10**7,
    )


def test_draws_have_the_believed_means_and_covariances() -> None:
    known = correlated()
    drawn = draw(known, 100_000, seed=2)
    whole = np.diag(known.own**2) + known.lean @ known.covariance @ known.lean.T
    assert drawn.mean(0) == pytest.approx(known.mean, abs=0.05)
    assert np.cov(drawn.T) == pytest.approx(whole, abs=0.03 * float(whole.max()))
    assert known.spread == pytest.approx(np.sqrt(np.diag(whole)))


def test_draws_are_wider_where_the_rest_is_known_from_little() -> None:
    """Student's t on 6 degrees of freedom: variance 6/4, and 5% beyond 2.447."""
    known = Believed(np.zeros(1), np.ones(1), np.zeros((1, 1)), np.zeros((1, 1)), 6)
    drawn = draw(known, 200_000, seed=3)[:, 0]
    assert drawn.var() == pytest.approx(1.5, abs=0.05)
    assert np.mean(np.abs(drawn) > 2.446912) == pytest.approx(0.05, abs=0.002)


def test_the_same_seed_draws_the_same() -> None:
    known = correlated()
    assert np.array_equal(draw(known, 50, seed=9), draw(known, 50, seed=9))
    assert not np.array_equal(draw(known, 50, seed=9), draw(known, 50, seed=10))


def test_what_all_share_is_not_apart() -> None:
    shared = Believed(np.zeros(3), np.full(3, 2.0), np.ones((3, 1)), np.array([[100.0]]), 9)
    assert shared.spread == pytest.approx(np.sqrt([104.0] * 3))
    assert shared.apart == pytest.approx([2.0] * 3)


def fitted() -> Crossed:
    return fit_mixed(week(np.random.default_rng(8), Field()).looks)


def test_what_is_believed_is_drawn_towards_the_mean_by_each_one_s_looks() -> None:
    rows = [
        (c, e, 0, 60.0 + 5 * c + (3 if (c + e) % 2 else -2)) for c in range(6) for e in range(4)
    ]
    fit = fit_mixed(looks_of([row for row in rows if row[0] or not row[1]]))
    known, shares = believed(fit), shares_of(fit)
    drawn = shares.agreement(4, adjusted=True)
    assert known.own[1] == pytest.approx(np.sqrt(shares.candidates * (1 - drawn)), rel=1e-6)
    assert known.own[0] > known.own[1], "one look says less than four"
    assert known.spread[0] > known.spread[1] > known.own[1]


def test_believed_covariances_are_those_of_the_mixed_model() -> None:
    fit, known = fitted(), believed(fitted())
    assert known.mean == pytest.approx(fit.fixed[0] + fit.effects[0])
    ours = np.diag(known.own**2) + known.lean @ known.covariance @ known.lean.T
    rows = np.ones((24, 1))
    assert known.spread == pytest.approx(np.sqrt(np.diag(ours)))
    assert (known.lean - fit.lean)[:, -1:] == pytest.approx(rows), "the mean is part of a figure"


@pytest.mark.parametrize(
    ("chance", "group"),
    [
        (1, Group.IN),
        (0.9, Group.IN),
        (0.8999, Group.CLOSE),
        (0.5, Group.CLOSE),
        (0.1001, Group.CLOSE),
        (0.1, Group.OUT),
        (0, Group.OUT),
    ],
)
def test_three_groups_by_word(chance: float, group: Group) -> None:
    assert groups(np.array([chance]), sure=0.9) == [group]


@given(st.lists(st.tuples(st.floats(0, 1), st.booleans()), min_size=1, max_size=12))
def test_wrong_decisions_are_fewest_where_the_likely_are_taken(
    rows: list[tuple[float, bool]],
) -> None:
    chance = np.array([p for p, _ in rows])
    taken = np.array([t for _, t in rows])
    number = int(taken.sum())
    best = np.zeros(len(rows), dtype=bool)
    best[np.argsort(-chance, kind="stable")[:number]] = True
    wrong = expected_wrong(chance, taken)
    assert expected_wrong(chance, best) <= wrong + 1e-9
    assert wrong + expected_wrong(chance, ~taken) == pytest.approx(len(rows))


def test_a_chance_is_the_share_of_draws() -> None:
    selected = np.array([[True, False], [True, False], [True, True], [False, False]])
    assert chances(selected).tolist() == [0.75, 0.25]
