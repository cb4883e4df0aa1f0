"""What the solver is proving, for whoever waits for it."""

from __future__ import annotations

from collections.abc import Callable

from django.core.cache import cache

from drill.lineup.core.problem import Level

SECONDS = 60
"""after which nobody waits any more"""


def teller(event: int) -> Callable[[Level], None]:
    """What the solver calls at each level of an event (id)."""
    return lambda level: cache.set(_key(event), level.value, SECONDS)


def proving(event: int) -> Level | None:
    """The level that is being proven, None where nothing is."""
    value = cache.get(_key(event))
    return None if value is None else Level(value)


def done(event: int) -> None:
    """Nothing is being proven any more."""
    cache.delete(_key(event))


def _key(event: int) -> str:
    return f"proving-{event}"
