"""Blocks and attendance through the API."""

from __future__ import annotations

import json
from collections.abc import Iterator
from typing import Any

import pytest
from django.test import Client

from bandops.lib.accounts.models import User
from bandops.lib.api.tokens import make_token
from drill.events.models import Event
from drill.rehearsals.models import Attendance
from roster.people.models import Member
from roster.ranks.models import Holding
from tests.drill.rehearsals.rehearsing import clock, make_rehearsal
from tests.factories import Band, Cast

pytestmark = pytest.mark.django_db
NOTES = "/api/v1/attendance/"


@pytest.fixture
def rehearsal(band: Band) -> Iterator[Event]:
    event = make_rehearsal(band)
    with clock(19):
        yield event


def program(user: User, *scopes: str) -> Client:
    _, text = make_token(actor=user, name="A program", scopes=scopes, days=30)
    return Client(headers={"Authorization": f"Bearer {text}"})


def note(client: Client, body: dict[str, Any], key: str) -> Any:
    headers = {"Idempotency-Key": key}
    return client.post(NOTES, json.dumps(body), "application/json", headers=headers)


def test_blocks_are_listed_by_rehearsal(band: Band, cast: Cast, rehearsal: Event) -> None:
    client = program(cast.staff, "rehearsals:read")
    [block] = client.get(f"/api/v1/blocks/?event={rehearsal.pk}").json()
    assert (block["starts"], block["ends"], block["what"]) == (
        "16:30:00",
        "18:00:00",
        "Halftime in full",
    )
    assert client.get(f"/api/v1/blocks/?event={band.event.pk}").json() == []


def test_a_note_is_kept_once_and_read_again(band: Band, cast: Cast, rehearsal: Event) -> None:
    client = program(cast.staff, "rehearsals:read", "rehearsals:write")
    cai = band.members["Cai Ørnberg"]
    body = {"event": rehearsal.pk, "member": cai.pk, "state": "late"}
    first, again = note(client, body, "one"), note(client, body, "one")
    assert (first.status_code, again.status_code) == (201, 201)
    assert first.json() == again.json() and Attendance.objects.count() == 1
    [told] = client.get(f"{NOTES}?event={rehearsal.pk}&state=late").json()
    assert (told["name"], told["noted_by"]) == ("Cai Ørnberg", cast.staff.name)


def test_what_cannot_be_noted_is_a_problem(band: Band, cast: Cast, rehearsal: Event) -> None:
    client = program(cast.staff, "rehearsals:read", "rehearsals:write")
    cai = band.members["Cai Ørnberg"]
    body = {"event": rehearsal.pk, "member": cai.pk, "state": "late"}
    for wrong, status, said in (
        ({"state": "asleep"}, 400, "asleep"),
        ({"member": 10**9}, 400, "none of that number"),
        ({"event": 10**9}, 400, "none of that number"),
        ({"member": "Cai"}, 400, "integer"),
    ):
        answer = note(client, body | wrong, f"{wrong}")
        assert answer.status_code == status, answer.content
        assert said in answer.content.decode()
    Holding.objects.filter(member=cai).delete()
    answer = note(client, body, "no rank")
    assert answer.status_code == 409 and "was in no rank that day" in answer.content.decode()
    reads = program(cast.staff, "rehearsals:read")
    assert note(reads, body, "reads").status_code == 403, "reading is not writing"
    assert not Attendance.objects.exists()
    assert Member.objects.filter(pk=cai.pk).exists()
