"""Challenges through the API: who, for which spot, how it ended; never a mark or a side."""

from __future__ import annotations

import pytest
from django.test import Client

from bandops.lib.api.tokens import make_token
from drill.challenges.models import Challenge
from tests.drill.challenges.challenge_stage import Stage, clock, stage, won
from tests.factories import Cast

__all__ = ["clock", "stage", "won"]

pytestmark = pytest.mark.django_db


def test_a_challenge_reads_as_names_and_an_end(stage: Stage, won: Challenge, cast: Cast) -> None:
    _, text = make_token(actor=cast.staff, name="A program", scopes=["challenges:read"], days=1)
    client = Client(headers={"Authorization": f"Bearer {text}"})
    answer = client.get(f"/api/v1/challenges/?round={won.round_id}")
    [told] = answer.json()
    assert (told["spot"], told["challenger_name"], told["holder_name"], told["state"]) == (
        "1-3",
        "Ida Voss",
        "Cai Ørnberg",
        "won",
    )
    assert set(told) == {
        *("id", "round", "spot", "challenger", "challenger_name", "holder", "holder_name"),
        *("state", "asked_at", "decided_at"),
    }
    rounds = client.get("/api/v1/challenge-rounds/").json()
    assert {r["name"] for r in rounds} == {"Week 9", "Week 10"}
    assert client.get("/api/v1/travellers/").status_code == 403, "not in its scopes"
