"""Crossed random effects by REML: y = X b + Z1 u1 + Z2 u2 + … + rest.

The profiled criterion of Bates, Mächler, Bolker and Walker 2015 (Journal of Statistical Software
67(1)), with the first factor taken out row by row, which leaves a dense system of the others.
Published variance components of Penicillin and InstEval are in the tests.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from scipy import linalg, optimize, sparse

from roster.tryouts.core.looks import Floats, Ints

LARGEST_RATIO = 1e3
"""of a factor's standard deviation to the rest's"""


@dataclass(frozen=True, slots=True, eq=False)
class Factor:
    """A grouping: which level each row has (n,), and how many levels there are."""

    level: Ints
    levels: int


@dataclass(frozen=True, slots=True, eq=False)
class Crossed:
    """The fit: standard deviations of the factors and the rest, fixed effects (p,) with standard
    errors, effects drawn towards zero a factor (levels,), and the REML criterion (-2 log).

    ``own`` (levels of the first factor,): how sure each of its effects is when all others are
    known, as a standard deviation. ``lean`` (levels, k) and ``rest_covariance`` (k, k): how it
    leans on the others (effects of the other factors, then fixed effects), and their covariance.
    """

    spreads: tuple[float, ...]
    rest: float
    fixed: Floats
    fixed_error: Floats
    effects: tuple[Floats, ...]
    criterion: float
    freedom: int
    own: Floats
    lean: Floats
    rest_covariance: Floats


@dataclass(frozen=True, slots=True, eq=False)
class _Sums:
    """Cross-products: of the rows of the first factor (q1, m) and of all other columns (m, m);
    the columns are those of the other factors, the fixed effects, and y."""

    count: Floats
    by_first: Floats | sparse.csr_array
    rest: Floats
    levels: tuple[int, ...]
    fixed: int
    rows: int


def fit_crossed(y: Floats, x: Floats, factors: Sequence[Factor]) -> Crossed:
    """Fit by REML; ``x`` (n, p) has full rank. ValueError without more rows than fixed effects.

    The ratios of the factors' standard deviations to the rest's are searched from 0 on.
    """
    if y.size <= x.shape[1]:
        raise ValueError("too few rows")
    sums = _sums(y, x, factors)
    start = np.ones(len(factors))
    steps = np.vstack([start, *(start + 0.7 * np.eye(len(factors)))])
    options: Any = {"initial_simplex": steps, "xatol": 1e-6, "fatol": 1e-9, "maxiter": 2_000}

    def criterion(ratios: Floats) -> float:
        return _criterion(sums, ratios)

    found = optimize.minimize(
        criterion,
        start,
        method="Nelder-Mead",
        bounds=optimize.Bounds(0.0, LARGEST_RATIO),
        options=options,
    )
    return _solved(sums, np.asarray(found.x), float(found.fun))


def _sums(y: Floats, x: Floats, factors: Sequence[Factor]) -> _Sums:
    n = y.size
    rows = np.arange(n)
    first, *others = [
        sparse.csr_array((np.ones(n), (rows, f.level)), shape=(n, f.levels)) for f in factors
    ]
    dense = sparse.csr_array(np.column_stack([x, y]))
    columns = sparse.hstack([*others, dense], format="csr")
    by_first = (first.T @ columns).tocsr()
    return _Sums(
        count=np.bincount(factors[0].level, minlength=factors[0].levels).astype(float),
        by_first=by_first.toarray() if by_first.size > 0.2 * np.prod(by_first.shape) else by_first,
        rest=(columns.T @ columns).toarray(),
        levels=tuple(f.levels for f in factors),
        fixed=x.shape[1],
        rows=n,
    )


def _reduced(sums: _Sums, ratios: Floats) -> Floats:
    """Cross-products once the first factor is taken out, the other factors scaled and ridged so
    that they stand with the fixed effects in one system, (m, m)."""
    weight = ratios[0] ** 2 / (1 + ratios[0] ** 2 * sums.count)
    if isinstance(sums.by_first, np.ndarray):
        taken = sums.by_first.T @ (weight[:, None] * sums.by_first)
    else:
        taken = (sums.by_first.T @ (sparse.diags_array(weight) @ sums.by_first)).toarray()
    scale = _scales(sums, ratios)
    system: Floats = (sums.rest - taken) * scale[:, None] * scale[None, :]
    others = sum(sums.levels[1:])
    system[np.arange(others), np.arange(others)] += 1
    return system


def _scales(sums: _Sums, ratios: Floats) -> Floats:
    """What each column is multiplied by: its factor's ratio, 1 for fixed effects and y."""
    of_factors = np.repeat(ratios[1:], sums.levels[1:])
    return np.concatenate([of_factors, np.ones(sums.fixed + 1)])


def _criterion(sums: _Sums, ratios: Floats) -> float:
    others = sum(sums.levels[1:])
    try:
        diagonal = np.diag(np.linalg.cholesky(_reduced(sums, ratios)))
    except np.linalg.LinAlgError:
        return np.inf
    free = sums.rows - sums.fixed
    size = float(np.sum(np.log1p(ratios[0] ** 2 * sums.count)))
    size += 2 * float(np.sum(np.log(diagonal[:others])))
    size += 2 * float(np.sum(np.log(diagonal[others:-1])))
    return float(size + free * (1 + np.log(2 * np.pi * diagonal[-1] ** 2 / free)))


def _solved(sums: _Sums, ratios: Floats, criterion: float) -> Crossed:
    others = sum(sums.levels[1:])
    system = _reduced(sums, ratios)
    inverse = linalg.inv(system[:-1, :-1])
    solution = inverse @ system[:-1, -1]
    free = sums.rows - sums.fixed
    variance = float(system[-1, -1] - solution @ system[:-1, -1]) / free
    scale = _scales(sums, ratios)[:-1]
    solution = scale * solution
    covariance = variance * inverse * scale[:, None] * scale[None, :]
    shrink = ratios[0] ** 2 / (1 + ratios[0] ** 2 * sums.count)
    by_first = sums.by_first if isinstance(sums.by_first, np.ndarray) else sums.by_first.toarray()
    own_sums = by_first[:, -1] - by_first[:, :-1] @ solution
    cuts = np.cumsum(sums.levels[1:])[:-1]
    effects = np.split(solution[:others], cuts) if others else []
    return Crossed(
        spreads=tuple(float(r) * np.sqrt(variance) for r in ratios),
        rest=float(np.sqrt(variance)),
        fixed=solution[others:],
        fixed_error=np.sqrt(np.diag(covariance)[others:]),
        effects=(shrink * own_sums, *effects),
        criterion=criterion,
        freedom=free,
        own=np.sqrt(variance * shrink),
        lean=-shrink[:, None] * by_first[:, :-1],
        rest_covariance=covariance,
    )
