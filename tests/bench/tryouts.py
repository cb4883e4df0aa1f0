"""A tryout week's figures against a general mixed model, on the same looks.

Ours is all that the figures need: marks to looks, severity by least squares, the mixed model, what
it makes believe of everybody, and the draws. The peer only fits the mixed model. Each runs in a
process of its own, on one thread: on several, small matrices take as long as whatever else the
machine does lets them. Both must find the same variances, or the benchmark stops.
"""

from __future__ import annotations

import json
import os
import subprocess
import sys
import warnings
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property
from importlib import import_module
from typing import Any

import numpy as np

from roster.tryouts.core.crossed import Crossed
from roster.tryouts.core.cut import believed, draw
from roster.tryouts.core.looks import Looks, Marks, Scale, look_figures
from roster.tryouts.core.reliability import fit_mixed
from roster.tryouts.core.severity import fit_severity
from tests.bench.lineups import DisagreementError
from tests.bench.ratios import Ratio, middle, timed

SCALES = tuple(Scale(1, 10, weight) for weight in (3, 2, 2, 2, 1, 1, 1, 1, 1, 1, 1))
SESSIONS, LOOKS, DRAWS = 4, (3, 4), 1000
TOLERANCE = 5e-3
"""of the peer's variances; it ends its search earlier than ours"""
MOST_SECONDS = 300.0
"""for the peer on one week, however large the cap: ten times the candidates take it a thousand
times as long"""
PEER = "statsmodels, crossed mixed model only"


@dataclass
class TryoutWeek:
    """Marks of a seeded week: three or four evaluators and any session a look, on whole
    numbers from 1 to 10; one mark of fifty was not seen."""

    candidates: int
    evaluators: int
    seed: int

    @cached_property
    def rows(self) -> Looks:
        """The looks, still without figures."""
        rng = np.random.default_rng(self.seed)
        each = rng.choice(LOOKS, self.candidates)
        by = [rng.choice(self.evaluators, n, replace=False) for n in each.tolist()]
        candidate = np.repeat(np.arange(self.candidates), each)
        session = rng.integers(0, SESSIONS, candidate.size)
        figure = np.zeros(candidate.size)
        return Looks(candidate, np.concatenate(by), session, figure,
                     self.candidates, self.evaluators, SESSIONS)  # fmt: skip

    @cached_property
    def marks(self) -> Marks:
        rng, looks = np.random.default_rng([self.seed, 1]), self.rows
        whole = rng.normal(6.3, 1.1, self.candidates)[looks.candidate]
        whole += rng.normal(0, 0.45, self.evaluators)[looks.evaluator]
        whole += rng.normal(0, 0.2, SESSIONS)[looks.session] + rng.normal(0, 0.5, whole.size)
        each = whole[:, None] + rng.normal(0, 0.9, (whole.size, len(SCALES)))
        look, criterion = np.nonzero(rng.random(each.shape) >= 0.02)
        value = np.clip(np.round(each), 1, 10)[look, criterion]
        return Marks(look, criterion, value)

    def looks(self) -> Looks:
        rows = self.rows
        figure = look_figures(SCALES, self.marks, rows.candidate.size)
        return Looks(rows.candidate, rows.evaluator, rows.session, figure,
                     rows.candidates, rows.evaluators, rows.sessions)  # fmt: skip

    def ours(self) -> Crossed:
        looks = self.looks()
        fit_severity(looks)
        fit = fit_mixed(looks)
        draw(believed(fit), DRAWS, 1)
        return fit


def our_fit(candidates: int, evaluators: int, seed: int, often: int) -> None:
    """Print our median seconds and variances."""
    week = TryoutWeek(candidates, evaluators, seed)
    _ = week.marks
    seconds, fit = timed(week.ours, often)
    print(json.dumps([seconds, *(s**2 for s in fit.spreads), fit.rest**2]))


def peer_fit(candidates: int, evaluators: int, seed: int, often: int) -> None:
    """Print the peer's seconds and variances, by the quickest of its searches."""
    mixed = import_module("statsmodels.regression.mixed_linear_model")
    looks = TryoutWeek(candidates, evaluators, seed).looks()
    names, columns, tables = ["candidate", "evaluator"], [], []
    for level, count in ((looks.candidate, candidates), (looks.evaluator, evaluators)):
        columns.append([[str(i) for i in range(count)]])
        tables.append([np.eye(count)[level]])
    fixed = np.ones((looks.figure.size, SESSIONS))
    fixed[:, 1:] = np.eye(SESSIONS)[looks.session][:, 1:] - 1 / SESSIONS

    def fit() -> Any:
        one_group = np.zeros(looks.figure.size, dtype=int)
        parts = mixed.VCSpec(names, columns, tables)
        model = mixed.MixedLM(looks.figure, fixed, groups=one_group, exog_vc=parts)
        return model.fit(reml=True, method=["lbfgs"])

    warnings.simplefilter("ignore")
    seconds, made = timed(fit, often)
    print(json.dumps([seconds, *made.vcomp.tolist(), float(made.scale)]))


def _alone(work: str, given: tuple[int, ...], seconds: float | None = None) -> list[float] | None:
    """What the work printed, in a process of its own; None where its time was up."""
    code = f"from tests.bench.tryouts import {work}; {work}{given}"
    env = {**os.environ, "OPENBLAS_NUM_THREADS": "1", "OMP_NUM_THREADS": "1"}
    try:
        done = subprocess.run(
            [sys.executable, "-c", code], check=True, stdout=subprocess.PIPE, text=True,
            env=env, timeout=seconds,
        )  # fmt: skip
    except subprocess.TimeoutExpired:
        return None
    return [float(it) for it in json.loads(done.stdout.splitlines()[-1])]


def figures(
    size: tuple[int, int], marks: str, seeds: tuple[int, ...], goal: float, most: float
) -> Ratio:
    """Weeks of (candidates, evaluators); the peer may spend ``most`` seconds on each."""
    pairs, capped = [], 0
    for seed in seeds:
        mine = _alone("our_fit", (*size, seed, 5))
        theirs = _alone("peer_fit", (*size, seed, 1), most)
        assert mine is not None
        if theirs is not None and not np.allclose(mine[1:], theirs[1:], rtol=TOLERANCE):
            raise DisagreementError(f"variances {mine[1:]} differ from the peer's {theirs[1:]}")
        capped += theirs is None
        pairs.append((mine[0], most if theirs is None else theirs[0]))
    note = "one thread each" + (f", peer stopped after {most:g} s" if capped else "")
    return Ratio(
        f"tryout figures, {marks} marks: / ours",
        PEER,
        [theirs / ours for ours, theirs in pairs],
        goal,
        True,
        middle(ours for ours, _ in pairs),
        middle(theirs for _, theirs in pairs),
        capped=bool(capped),
        note=note,
    )


def tryout_ratios(seconds: float) -> Iterator[Ratio]:
    """A usual week, one of three times and one of ten times the size."""
    most = min(seconds, MOST_SECONDS)
    yield figures((310, 14), "12,000", (1, 2, 3, 4, 5), 15, most)
    yield figures((930, 42), "35,000", (1, 2, 3), 50, most)
    yield figures((3100, 140), "120,000", (1,), 100, most)
