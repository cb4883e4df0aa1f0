"""The linear program with few columns against the same with all of them."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from drill.lineup.core.canonical import canonical
from drill.lineup.core.solver import linear
from drill.lineup.core.solver.building import build_model
from drill.lineup.core.solver.certificate import proves
from drill.lineup.core.solver.linear import LinearAnswer, solve_linear, solve_split
from drill.lineup.core.solver.matching import Matched
from drill.lineup.core.solver.model import Model
from drill.lineup.core.solver.part import Part
from drill.lineup.core.solver.program import Program
from drill.lineup.core.solver.splitting import splits
from tests.reference.bands import band, small_band

NODES = 400


def answer_of(model: Model) -> LinearAnswer:
    answer, _ = solve_linear(model, NODES)
    if answer is not None and splits(model, answer.arcs):
        answer, _ = solve_split(model, NODES)
    assert answer is not None
    return answer


def with_all_columns(model: Model, monkeypatch: pytest.MonkeyPatch) -> LinearAnswer:
    """From no basis, with every arc from the start."""

    def begin(model: Model, matched: Matched | None) -> Program:
        return Program(replace(Part.whole(model), complete=True), np.arange(model.arcs.size))

    with monkeypatch.context() as patch:
        patch.setattr(linear, "begin", begin)
        return answer_of(model)


@pytest.mark.parametrize("seed", range(20))
@pytest.mark.parametrize("segments", [("halftime",), ("halftime", "pregame")])
def test_few_columns_give_the_lineup_of_all_with_a_proof(
    seed: int, segments: tuple[str, ...], monkeypatch: pytest.MonkeyPatch
) -> None:
    model = build_model(canonical(small_band(seed, segments=segments)))
    few, every = answer_of(model), with_all_columns(model, monkeypatch)
    assert few.arcs.tolist() == every.arcs.tolist()
    assert proves(model, model.point(few.arcs), few.certificate)


def test_a_band_of_300_needs_a_fifth_of_its_columns(monkeypatch: pytest.MonkeyPatch) -> None:
    model = build_model(canonical(band(300)))
    made: list[Program] = []
    real = linear.begin

    def begin(model: Model, matched: Matched | None) -> Program:
        made.append(real(model, matched))
        return made[-1]

    monkeypatch.setattr(linear, "begin", begin)
    answer = answer_of(model)
    assert proves(model, model.point(answer.arcs), answer.certificate)
    assert len(made[0].arcs) < model.arcs.size / 5
    assert len(set(made[0].arcs.tolist())) == len(made[0].arcs)
