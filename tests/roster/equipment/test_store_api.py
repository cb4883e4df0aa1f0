"""Handing out and taking back through the API."""

from __future__ import annotations

import json
from typing import Any

import pytest
from django.test import Client

from bandops.lib.api.tokens import make_token
from roster.equipment.enums import Condition
from roster.equipment.models import Issue, Item
from tests.factories import Band, Cast
from tests.factories.store import make_store_rows

pytestmark = pytest.mark.django_db


@pytest.fixture
def program(band: Band, cast: Cast) -> Client:
    make_store_rows(band.season, cast.staff, *list(band.members.values())[:2])
    scopes = ["equipment:read", "equipment:write"]
    _, text = make_token(actor=cast.staff, name="A desk", scopes=scopes, days=1)
    return Client(headers={"Authorization": f"Bearer {text}"})


def post(client: Client, path: str, body: object, key: str) -> Any:
    headers = {"Idempotency-Key": key}
    return client.post(path, json.dumps(body), "application/json", headers=headers)


def free() -> Item:
    return Item.objects.filter(state="in store", part_of=None).earliest("pk")


def test_a_piece_goes_out_and_comes_back_once(band: Band, program: Client) -> None:
    item, jon = free(), band.members["Jon Pell"]
    path = f"/api/v1/items/{item.pk}/"
    told = {"member": jon.pk, "condition": Condition.GOOD}
    for _ in range(2):
        answer = post(program, f"{path}hand-out/", told, "out")
        assert answer.status_code == 200 and answer.json()["member"] == jon.pk
    assert Issue.objects.filter(item=item).count() == 1
    other = post(program, f"{path}hand-out/", told | {"member": band.members["Kit Moss"].pk}, "b")
    assert other.status_code == 409, "somebody has it"
    for _ in range(2):
        answer = post(program, f"{path}take-back/", {"condition": Condition.WORN}, "back")
        assert answer.status_code == 200 and answer.json()["member"] is None
    issue = Issue.objects.get(item=item)
    assert (issue.condition_out, issue.condition_in) == (Condition.GOOD, Condition.WORN)


@pytest.mark.parametrize("condition", [-1, 4, 5, "poor", 1.5, None])
def test_no_other_condition_is_taken(band: Band, program: Client, condition: object) -> None:
    """Found by fuzzing: the API took 1 to 5, the store knows 0 (new) to 3 (poor)."""
    item, jon = free(), band.members["Jon Pell"]
    path, told = f"/api/v1/items/{item.pk}/", {"member": jon.pk, "condition": condition}
    assert post(program, f"{path}hand-out/", told, "a").status_code == 400
    assert not Issue.objects.filter(item=item).exists()
    assert post(program, f"{path}hand-out/", told | {"condition": 0}, "b").status_code == 200
    assert post(program, f"{path}take-back/", {"condition": condition}, "c").status_code == 400
    assert Issue.objects.get(item=item).returned_at is None
