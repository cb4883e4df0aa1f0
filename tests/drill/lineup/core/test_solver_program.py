"""One program for several faces and objectives against a program of its own for each."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from drill.lineup.core.canonical import canonical
from drill.lineup.core.problem import Level
from drill.lineup.core.solver.branches import branches
from drill.lineup.core.solver.building import build_model
from drill.lineup.core.solver.face import Face
from drill.lineup.core.solver.model import Model
from drill.lineup.core.solver.packing import Pack
from drill.lineup.core.solver.part import Costs, Part
from drill.lineup.core.solver.program import Program
from drill.lineup.core.solver.result import NoLineup
from tests.reference.bands import small_band

PACKS = (Pack((Level.HOLES, Level.MOVED), (1 << 12, 1), 1), Pack((Level.RELEARNING,), (1,), 1))


def alone(model: Model, pack: Pack, face: Face) -> float | None:
    program = Program(Part.whole(model), face.arcs)
    return least(program, Costs.of(model, pack, face), face)


def least(program: Program, costs: Costs, face: Face) -> float | None:
    try:
        return program.minimise(costs, face, again=True).value
    except NoLineup:
        return None


@pytest.mark.parametrize("seed", range(8))
def test_a_program_goes_on_from_any_face_to_any_other(seed: int) -> None:
    """Objectives, columns that leave and come back, rays in between: nothing of the last stays."""
    model = build_model(canonical(small_band(seed)))
    whole = Face.whole(model)
    program = Program(Part.whole(model), whole.arcs[:: 2 + seed % 3])
    rng = np.random.default_rng(seed)
    solved = 0
    for turn in range(12):
        face = whole
        for column in rng.integers(0, model.arcs.size + len(model.leaderless), 3).tolist():
            face = branches(model, face, column)[int(rng.integers(2))]
        tight = whole.tight.copy()
        tight[rng.choice(model.node_row, turn % 3)] = True
        face, pack = replace(face, tight=tight | face.tight), PACKS[turn % 2]
        found = least(program, Costs.of(model, pack, face), face)
        wanted = alone(model, pack, face)
        assert found == (None if wanted is None else pytest.approx(wanted))
        assert (program.ray(face) is None) == (wanted is not None)
        solved += wanted is not None
    assert solved
