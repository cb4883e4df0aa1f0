"""The next thing to do, which later rooms know."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from bandops.lib.ties import Tie


@dataclass(frozen=True)
class Step:
    """What to do next, and where."""

    label: str
    url: str


NEXT_STEP: Tie[[Any], Step | None] = Tie()
"""the next step of a season's first run"""


def next_step(season: Any) -> Step | None:
    """The first that somebody knows."""
    return next((step for step in NEXT_STEP.ask(season) if step is not None), None)
