"""The linear program with few columns against the same with all of them."""

from __future__ import annotations

import pytest

from drill.lineup.core.canonical import canonical
from drill.lineup.core.solver import linear
from drill.lineup.core.solver.certificate import proves
from drill.lineup.core.solver.linear import LinearAnswer, Program, solve_linear, solve_split
from drill.lineup.core.solver.model import Model, build_model
from drill.lineup.core.solver.splitting import splits
from tests.reference.bands import band, small_band


def answer_of(model: Model) -> LinearAnswer | None:
    answer = solve_linear(model)
    return solve_split(model) if answer is not None and splits(model, answer.x) else answer


def with_all_columns(model: Model, monkeypatch: pytest.MonkeyPatch) -> LinearAnswer | None:
    with monkeypatch.context() as patch:
        patch.setattr(linear, "Growing", Program)
        return answer_of(model)


@pytest.mark.parametrize("seed", range(20))
@pytest.mark.parametrize("segments", [("halftime",), ("halftime", "pregame")])
def test_few_columns_give_the_lineup_of_all_with_a_proof(
    seed: int, segments: tuple[str, ...], monkeypatch: pytest.MonkeyPatch
) -> None:
    model = build_model(canonical(small_band(seed, segments=segments)))
    few, every = answer_of(model), with_all_columns(model, monkeypatch)
    assert (few is None) == (every is None)
    if few is not None and every is not None:
        assert few.x.tolist() == every.x.tolist()
        assert proves(model, few.x, few.certificate)


def test_a_band_of_300_needs_a_fifth_of_its_columns(monkeypatch: pytest.MonkeyPatch) -> None:
    model = build_model(canonical(band(300)))
    made: list[linear.Growing] = []

    class Counted(linear.Growing):
        def __init__(self, of: Model) -> None:
            super().__init__(of)
            made.append(self)

    monkeypatch.setattr(linear, "Growing", Counted)
    answer = solve_linear(model)
    assert answer is not None and proves(model, answer.x, answer.certificate)
    assert len(made[0].columns) < model.columns / 5
    assert len(set(made[0].columns.tolist())) == len(made[0].columns)
