"""Which sets a member has practised, from what was told and what was logged."""

from __future__ import annotations

from collections.abc import Collection


def practised_sets(sets: int, logged: Collection[int], told: int) -> frozenset[int]:
    """Indices of the sets practised out of ``sets``: those logged, and as many of the first
    others as the told number still needs: shows are learned in order."""
    rest = [i for i in range(sets) if i not in logged]
    return frozenset(logged) | frozenset(rest[: max(0, told - len(logged))])
