"""Fitting a whole band against the plain assignment of the same pairs.

400 members, 8 kinds, 3,520 items. Ours decides all its levels; the peer is SciPy's dense assignment
with only one: as many fitted as can be. Both must fit as many, or the benchmark stops.
"""

from __future__ import annotations

import random
from collections.abc import Iterator

import numpy as np
from scipy.optimize import linear_sum_assignment

from roster.equipment.core.assignment import Bools
from roster.equipment.core.fitting import (
    Figure,
    FittingProblem,
    Level,
    Piece,
    Wearer,
    Window,
    fit_all,
    fit_of,
)
from tests.bench.lineups import DisagreementError
from tests.bench.ratios import Ratio, middle, timed

SEEDS = (1, 2, 3)
MEMBERS, KINDS, ITEMS = 400, 8, 440
REPEATS = 3
FIGURES = (Figure("chest", 16, 32, 2_500, 32), Figure("sleeve", 24, 24, 1_200, 16))
BODY = {"chest": (600, 45), "sleeve": (528, 22)}
"""sixteenths of an inch: middle and spread"""


def kind_of(seed: int, number: int) -> FittingProblem:
    """One kind of a seeded store: bodies, and pieces about as many sizes as bodies."""
    rng = random.Random(f"{seed} {number}")

    def body() -> dict[str, int]:
        return {name: round(rng.gauss(*of)) for name, of in BODY.items()}

    def piece(n: int) -> Piece:
        of = body()
        sizes = {"chest": of["chest"] // 32 * 32 + 32, "sleeve": of["sleeve"] // 16 * 16}
        return Piece(f"p{n}", sizes, str(sizes["chest"]), rng.randrange(4))

    pieces = tuple(piece(n) for n in range(ITEMS))
    wearers = tuple(
        Wearer(
            f"m{n}",
            {name: Window(v, v + 40, v + 20) for name, v in body().items()},
            frozenset({f"p{rng.randrange(ITEMS)}"}) if rng.random() < 0.6 else frozenset(),
        )
        for n in range(MEMBERS)
    )
    return FittingProblem(FIGURES, wearers, pieces, spares=2)


def plain_of(matrix: Bools) -> int:
    """How many of the rows get a pair that is no miss."""
    rows, columns = linear_sum_assignment(matrix.astype(np.float64))
    return int((~matrix[rows, columns]).sum())


def fitting_ratios() -> Iterator[Ratio]:
    """One line: all levels of all kinds, from rows, over one level from a ready matrix."""
    ratios, mine, theirs = [], [], []
    for seed in SEEDS:
        store = [kind_of(seed, n) for n in range(KINDS)]
        misses = [
            np.array([[fit_of(s, w, p) is None for p in s.pieces] for w in s.wearers])
            for s in store
        ]
        ours, fitted = timed(lambda store=store: [fit_all(s) for s in store], REPEATS)
        peer, counts = timed(lambda misses=misses: [plain_of(m) for m in misses], REPEATS)
        found = [MEMBERS - f.levels[Level.UNFITTED] for f in fitted]
        if found != counts:
            raise DisagreementError(f"seed {seed}: fitted {found} against {counts}")
        ratios.append(ours / peer)
        mine.append(ours)
        theirs.append(peer)
    yield Ratio(
        "fitting 400 x 8 x 3,520, all levels: ours /",
        "SciPy's dense assignment, fitted alone",
        ratios,
        20.0,
        False,
        middle(mine),
        middle(theirs),
    )
