"""Packing several levels into one integer objective without one ever outweighing an earlier."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from drill.lineup.core.problem import Level
from drill.lineup.core.solver.index import Ints


@dataclass(frozen=True)
class Pack:
    """Consecutive levels and their weights; ``span`` bounds the packed objective's range."""

    levels: tuple[Level, ...]
    weights: tuple[int, ...]
    span: int


def span_of(cost: Ints, count: int) -> int:
    """How many values a sum of at most ``count`` of the costs (or of none) can take."""
    low, high = min(int(cost.min(initial=0)), 0), max(int(cost.max(initial=0)), 0)
    return count * (high - low) + 1


def pack_levels(spans: Sequence[tuple[Level, int]], capacity: int) -> tuple[Pack, ...]:
    """Levels grouped greedily into packs whose product of spans stays below ``capacity``."""
    packs: list[list[tuple[Level, int]]] = []
    product = capacity
    for level, span in spans:
        if product * span >= capacity or not packs:
            packs.append([])
            product = 1
        packs[-1].append((level, span))
        product *= span
    return tuple(_weigh(pack) for pack in packs)


def _weigh(pack: list[tuple[Level, int]]) -> Pack:
    weights, weight = [], 1
    for _, span in reversed(pack):
        weights.append(weight)
        weight *= span
    return Pack(tuple(level for level, _ in pack), tuple(reversed(weights)), weight)
