"""The checks of a whole drill against a plain loop over pairs, in the same run.

Both decide by exact numbers and must find the same pairs, or the benchmark stops.
"""

from __future__ import annotations

from collections.abc import Iterator
from functools import partial

import numpy as np

from drill.field.core.field import UNITS_PER_INCH, UNITS_PER_STEP
from drill.shows.core.move_checks import findings
from drill.shows.core.move_findings import Close
from drill.shows.core.moves import Limits
from drill.shows.core.told_drill import Drill, SetHead
from tests.bench.lineups import DisagreementError
from tests.bench.ratios import Ratio, middle, timed

SEEDS = (1, 2, 3, 4, 5)
DOTS, SETS, COUNTS, TRADING = 400, 80, 16, 4
LIMITS = Limits(36 * UNITS_PER_INCH, UNITS_PER_STEP)


def drill_of(seed: int) -> Drill:
    """A block of 400 two steps apart that drifts, with four dots trading spots every set."""
    rng = np.random.default_rng(seed)
    rows, columns = np.divmod(np.arange(DOTS), 25)
    block = np.stack([(columns - 12) * 2, rows * 2 + 20], axis=-1) * UNITS_PER_STEP
    where = np.empty((SETS, DOTS, 2), dtype=np.int64)
    order = np.arange(DOTS)
    for at in range(SETS):
        moving = rng.choice(DOTS, TRADING, replace=False)
        order[moving] = order[np.roll(moving, 1)]
        where[at] = block[order] + rng.integers(-8, 9, 2) * UNITS_PER_STEP
    heads = tuple(SetHead(str(at), COUNTS, 150) for at in range(SETS))
    names = tuple(str(dot) for dot in range(DOTS))
    known = np.ones((SETS, DOTS), dtype=bool)
    return Drill(heads, names, ("",) * DOTS, where, known)


def plain_loop(drill: Drill, gap: int) -> set[tuple[int, int, int]]:
    """(set, dot, dot) of every pair that comes closer than the gap: the same closed form,
    one pair after the other in whole numbers."""
    found = set()
    for at in range(1, len(drill.sets)):
        starts, ends = drill.where[at - 1].tolist(), drill.where[at].tolist()
        ways = [(x, y, u - x, v - y) for (x, y), (u, v) in zip(starts, ends, strict=True)]
        for first, (x, y, dx, dy) in enumerate(ways):
            for second in range(first + 1, len(ways)):
                u, v, du, dv = ways[second]
                rx, ry, vx, vy = u - x, v - y, du - dx, dv - dy
                a, b = vx * vx + vy * vy, rx * vx + ry * vy
                if b >= 0:
                    near = rx * rx + ry * ry < gap * gap
                elif -b >= a:
                    near = (rx + vx) ** 2 + (ry + vy) ** 2 < gap * gap
                else:
                    near = (rx * vy - ry * vx) ** 2 < gap * gap * a
                if near:
                    found.add((at, first, second))
    return found


def move_ratios() -> Iterator[Ratio]:
    """All checks (steps, pairs, edges) of 400 dots x 80 sets: ours / pairs alone in a loop."""
    pairs = []
    for seed in SEEDS:
        drill = drill_of(seed)
        ours, found = timed(partial(findings, drill, LIMITS), 5)
        theirs, close = timed(partial(plain_loop, drill, LIMITS.closest_gap))
        if {(f.at, *f.dots) for f in found if isinstance(f, Close)} != close:
            raise DisagreementError("the pairs found differ from those of the loop")
        pairs.append((ours, theirs))
    values = [theirs / ours for ours, theirs in pairs]
    ours, theirs = (middle(column) for column in zip(*pairs, strict=True))
    name = f"move checks, {DOTS} x {SETS}: / ours"
    yield Ratio(name, "plain loop over pairs", values, 17.7, True, ours, theirs)
