"""Fitting a whole band against the plain assignment of the same pairs.

400 members, 8 kinds, 3,520 items. Ours decides all its levels, from rows; the peer is one call of
SciPy's dense assignment on a ready matrix: as many fitted as can be, and as close. Both must fit
as many, or the benchmark stops.
"""

from __future__ import annotations

import random
from collections.abc import Iterator

import numpy as np
from scipy.optimize import linear_sum_assignment

from roster.equipment.core.assignment import Ints
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
NOTHING = 10_000
GOAL = 6.0
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


def plain_costs(problem: FittingProblem) -> Ints:
    """Wearers x pieces: how far off each pair is, and what going without costs."""
    fits = [[fit_of(problem, w, p) for p in problem.pieces] for w in problem.wearers]
    return np.array([[NOTHING if fit is None else fit.off for fit in row] for row in fits])


def plain(costs: Ints) -> int:
    """How many the plain assignment fits, as close as can be."""
    rows, columns = linear_sum_assignment(costs)
    return int((costs[rows, columns] < NOTHING).sum())


def fitting_ratios() -> Iterator[Ratio]:
    """One line: all levels of all kinds, from rows, over two levels from a ready matrix."""
    ratios, mine, theirs = [], [], []
    for seed in SEEDS:
        store = [kind_of(seed, n) for n in range(KINDS)]
        costs = [plain_costs(s) for s in store]
        ours, fitted = timed(lambda store=store: [fit_all(s) for s in store], REPEATS)
        peer, counts = timed(lambda costs=costs: [plain(c) for c in costs], REPEATS)
        found = [MEMBERS - f.levels[Level.UNFITTED] for f in fitted]
        if found != counts:
            raise DisagreementError(f"seed {seed}: fitted {found} against {counts}")
        ratios.append(ours / peer)
        mine.append(ours)
        theirs.append(peer)
    name, peer_name = "fitting 400 x 8 x 3,520, all levels: ours /", "SciPy's plain assignment"
    yield Ratio(name, peer_name, ratios, GOAL, False, middle(mine), middle(theirs))
