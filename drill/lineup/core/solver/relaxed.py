"""What a change to a problem lets into its model."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np

from drill.lineup.core.solver.index import Ints


def _none() -> Ints:
    return np.zeros(0, np.int64)


@dataclass(frozen=True)
class Relaxed:
    """What a change lets in: arcs, and rows whose limit grows by one."""

    arcs: Ints = field(default_factory=_none)
    rows: Ints = field(default_factory=_none)
