"""What the solver is proving, while somebody waits."""

from __future__ import annotations

import pytest
from django.urls import reverse

from drill.lineup.core.problem import Level
from drill.lineup.core.solver import Limits, Stage, solve
from drill.lineup.services.drafts import open_draft
from drill.lineup.services.proving import proving, teller
from drill.lineup.wording import PROVING
from tests.architecture.world import client_of
from tests.factories import Band, Cast
from tests.reference.bands import band as made_band

pytestmark = pytest.mark.django_db


def test_it_is_said_until_the_solver_rests(band: Band, cast: Cast) -> None:
    staff, url = client_of(cast, "staff"), reverse("proving", args=[band.event.pk])
    assert staff.get(url).json() == {"said": ""}
    teller(band.event.pk)(Level.LEADERLESS)
    assert staff.get(url).json() == {"said": PROVING[Level.LEADERLESS]}
    open_draft(actor=cast.staff, event=band.event)
    assert proving(band.event.pk) is None and staff.get(url).json() == {"said": ""}


def test_every_level_has_its_words() -> None:
    assert set(PROVING) == set(Level)


@pytest.mark.parametrize("nodes", [0, 100])
def test_the_solver_tells_of_the_levels_in_their_order(nodes: int) -> None:
    heard: list[Level] = []
    problem = made_band(192, seed=26)
    lineup = solve(problem, limits=Limits(nodes=nodes), tell=heard.append)
    assert lineup.stage is (Stage.BRANCHING if nodes else Stage.CONSTRAINT)
    assert heard[0] is Level.HOLES and heard[-1] >= Level.STANDING
    if nodes:
        assert heard == sorted(heard)
