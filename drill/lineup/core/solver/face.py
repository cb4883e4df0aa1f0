"""What the levels decided so far leave open."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from drill.lineup.core.solver.index import Bools
from drill.lineup.core.solver.model import EQUAL, Model


@dataclass
class Face:
    """What the blocks so far leave: columns not yet settled at zero, rows turned equations."""

    free: Bools
    tight: Bools

    @classmethod
    def whole(cls, model: Model) -> Face:
        return cls(np.ones(model.columns, np.bool_), model.sense == EQUAL)
