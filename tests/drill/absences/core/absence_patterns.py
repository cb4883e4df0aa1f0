"""Every pattern of absences of a small group, and the best fill of each."""

from __future__ import annotations

import itertools
from collections.abc import Iterator

import numpy as np

from drill.backups.core.hole_chance import Figure, Group, Helper

HORN, DRUM, FLAG = "horn", "drum", "flag"


def tries(group: Group) -> Iterator[tuple[float, list[int], list[Helper]]]:
    """Every pattern's weight, open spots by part, and backups who are there."""
    chances = [c for need in group.needs for c in need.out] + [h.out for h in group.helpers]
    for pattern in itertools.product((False, True), repeat=len(chances)):
        weight = float(np.prod([c if o else 1 - c for c, o in zip(chances, pattern, strict=True)]))
        rest = list(pattern)
        opened = []
        for need in group.needs:
            opened.append(sum(rest[: len(need.out)]))
            rest = rest[len(need.out) :]
        here = [h for h, out in zip(group.helpers, rest, strict=True) if not out]
        yield weight, opened, here


def best_fill(opened: list[int], here: list[Helper], parts: list[str]) -> tuple[int, ...]:
    """Most spots of the first part, then of the second, … among the fullest fillings."""
    best: tuple[int, ...] = (0,) * (len(parts) + 1)
    for way in itertools.product(*[[None, *sorted(h.parts)] for h in here]):
        filled = [min(n, way.count(p)) for n, p in zip(opened, parts, strict=True)]
        best = max(best, (sum(filled), *filled))
    return best[1:]


def by_brute_force(group: Group) -> Figure:
    parts = [need.part for need in group.needs]
    hole, some, mean = [0.0] * len(parts), 0.0, 0.0
    for weight, opened, here in tries(group):
        left = [n - f for n, f in zip(opened, best_fill(opened, here, parts), strict=True)]
        hole = [h + weight * (n > 0) for h, n in zip(hole, left, strict=True)]
        some += weight * any(left)
        mean += weight * sum(left)
    return Figure(tuple(hole), some, mean)
