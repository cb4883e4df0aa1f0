"""The chance that spots stay open when some marchers drop out and some backups come along.

Spots of one part are interchangeable: inside it people move over for each other. People drop out
independently. Backups who play one part only are counted exactly; backups shared by several parts
are matched with what is open (Hall's condition), over every pattern where there are few, else over
seeded scenarios. Marchers keep their part, so a chain from part to part is not counted: it could
only lower a chance.
"""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

Numbers = NDArray[np.float64]
Counts = NDArray[np.int16]

EXACT_CELLS = 300_000
SCENARIOS = 4_000
MOST_SHARED = 6
SEED = 1867


@dataclass(frozen=True, slots=True)
class Need:
    """A part's performing spots: for each the chance that its marcher is out, 1 for a marcher who
    does not come along."""

    part: str
    out: tuple[float, ...]


@dataclass(frozen=True, slots=True)
class Helper:
    """A backup who comes along: the parts they can march and the chance that they are out."""

    parts: frozenset[str]
    out: float


@dataclass(frozen=True, slots=True)
class Group:
    """Parts that share backups. A shared backup goes to the part that is named first."""

    needs: tuple[Need, ...]
    helpers: tuple[Helper, ...]


@dataclass(frozen=True, slots=True)
class Figure:
    """What a group must expect: ``hole`` of each part in the group's order, ``any_hole``, and the
    mean number of ``open_spots``. ``half_width`` is that of a chance's 95% interval, 0 when exact.

    ``rough``: backups shared in more ways than ``MOST_SHARED`` count for their first part only,
    which makes ``any_hole`` and ``open_spots`` too large, never too small.
    """

    hole: tuple[float, ...]
    any_hole: float
    open_spots: float
    half_width: float = 0.0
    rough: bool = False


def hole_chance(group: Group) -> float:
    """The chance that at least one spot of the group stays open."""
    return figure(group).any_hole


def counts_of(chances: Iterable[float]) -> Numbers:
    """The distribution of how many independent events happen (Poisson-binomial)."""
    total = np.ones(1)
    for chance in chances:
        total = np.convolve(total, (1.0 - chance, chance))
    return total


def grouped(needs: Sequence[Need], helpers: Iterable[Helper]) -> tuple[Group, ...]:
    """The needs, in their order, parted into groups that share no backup."""
    group_of = {need.part: n for n, need in enumerate(needs)}
    useful = []
    for helper in helpers:
        parts = helper.parts.intersection(group_of)
        if not parts:
            continue
        useful.append(Helper(parts, helper.out))
        joined = {group_of[part] for part in parts}
        for part, n in group_of.items():
            if n in joined:
                group_of[part] = min(joined)
    found: dict[int, tuple[list[Need], list[Helper]]] = defaultdict(lambda: ([], []))
    for need in needs:
        found[group_of[need.part]][0].append(Need(need.part, tuple(sorted(need.out))))
    for helper in useful:
        found[group_of[next(iter(helper.parts))]][1].append(helper)
    return tuple(
        Group(tuple(mine), tuple(sorted(theirs, key=lambda h: (sorted(h.parts), h.out))))
        for mine, theirs in found.values()
    )


@lru_cache(maxsize=20_000)
def figure(group: Group) -> Figure:
    """The group's chances."""
    own, shared, rough = _told_apart(group)
    nets = [_net(need.out, own[need.part]) for need in group.needs]
    mean = sum(float(net @ np.arange(len(net))) for net in nets)
    if not shared:
        holes = tuple(_at_least_one(net) for net in nets)
        return Figure(holes, 1.0 - math.prod(1.0 - hole for hole in holes), mean)
    serves = np.array([[n.part in parts for n in group.needs] for parts in shared])
    here = [counts_of(1.0 - out for out in outs) for outs in shared.values()]
    # Of a part's open spots no more matter than shared backups can fill, and one.
    reach = serves.T @ np.array([len(outs) for outs in shared.values()])
    capped = [_capped(net, int(most) + 1) for net, most in zip(nets, reach, strict=True)]
    patterns, weights, half_width = _patterns([*capped, *here], EXACT_CELLS >> len(shared))
    need, present = patterns[:, : len(nets)], patterns[:, len(nets) :]
    filled = _filled(need, present, serves)
    left = need - np.diff(filled, axis=1, prepend=0)
    hole = tuple(_kept(float(weights @ (column > 0))) for column in left.T)
    any_hole = _kept(float(weights @ left.any(axis=1)))
    open_spots = max(0.0, mean - float(weights @ filled[:, -1]))
    return Figure(hole, any_hole, open_spots, half_width, rough)


Own = dict[str, list[float]]
Shared = dict[frozenset[str], list[float]]


def _told_apart(group: Group) -> tuple[Own, Shared, bool]:
    """The chances of backups of one part, and of shared ones by the parts they share."""
    own: Own = defaultdict(list)
    ways: Shared = defaultdict(list)
    for helper in group.helpers:
        if len(helper.parts) == 1:
            own[next(iter(helper.parts))].append(helper.out)
        else:
            ways[helper.parts].append(helper.out)
    order = {need.part: n for n, need in enumerate(group.needs)}
    most_first = sorted(ways, key=lambda parts: (-len(ways[parts]), sorted(parts)))
    for parts in most_first[MOST_SHARED:]:
        own[min(parts, key=order.__getitem__)] += ways[parts]
    return own, {parts: ways[parts] for parts in most_first[:MOST_SHARED]}, len(ways) > MOST_SHARED


def _net(out: Iterable[float], backups: Iterable[float]) -> Numbers:
    """The distribution of spots still open after the part's own backups stepped in."""
    here = counts_of(1.0 - chance for chance in backups)
    difference = np.convolve(counts_of(out), here[::-1])
    spare = len(here) - 1
    return np.concatenate(([difference[: spare + 1].sum()], difference[spare + 1 :]))


def _at_least_one(net: Numbers) -> float:
    return _kept(float(net[1:].sum()))


def _kept(chance: float) -> float:
    """Rounding never makes a chance of less than nothing or more than certainty."""
    return min(1.0, max(0.0, chance))


def _capped(net: Numbers, most: int) -> Numbers:
    if len(net) <= most + 1:
        return net
    return np.append(net[:most], net[most:].sum())


def _patterns(axes: Sequence[Numbers], most: int) -> tuple[Counts, Numbers, float]:
    """Rows of counts with their weights: all of them when they are no more than ``most``, else
    seeded scenarios, and their half-width."""
    sizes = [len(axis) for axis in axes]
    if math.prod(sizes) <= most:
        rows = np.indices(sizes, dtype=np.int16).reshape(len(sizes), -1).T
        weights = np.ones(1)
        for axis in axes:
            weights = np.outer(weights, axis).ravel()
        likely = weights > 0
        return rows[likely], weights[likely], 0.0
    rng = np.random.default_rng(SEED)
    drawn = [rng.choice(len(axis), SCENARIOS, p=axis / axis.sum()) for axis in axes]
    weights = np.full(SCENARIOS, 1.0 / SCENARIOS)
    rows = np.stack(drawn, axis=1).astype(np.int16)
    return rows, weights, 1.96 * 0.5 / math.sqrt(SCENARIOS)


def _filled(need: Counts, here: Counts, serves: NDArray[np.bool_]) -> Counts:
    """Most open spots of the first 1, 2, … parts that the shared backups can fill, row by row.

    By Hall's condition the least, over all sets of ways to share, of the backups in the set and
    the spots that a backup outside it could fill.
    """
    best = np.cumsum(need * serves.any(axis=0), axis=1, dtype=np.int16)
    for mask in range(1, 1 << len(serves)):
        chosen = np.array([mask >> way & 1 for way in range(len(serves))], dtype=bool)
        outside = serves[~chosen].any(axis=0)
        bound = np.cumsum(need * outside, axis=1, dtype=np.int16)
        bound += here[:, chosen].sum(axis=1, dtype=np.int16)[:, None]
        np.minimum(best, bound, out=best)
    return best
