"""The API: its description, its answers, and who may read them."""

from __future__ import annotations

import json
from collections.abc import Iterator
from typing import Any

import pytest
import schemathesis
from django.core.signals import request_finished, request_started
from django.db import close_old_connections
from django.urls import reverse
from drf_spectacular.validation import validate_schema
from hypothesis import given
from schemathesis.checks import not_a_server_error
from schemathesis.core.result import Ok
from schemathesis.specs.openapi.checks import response_schema_conformance

from bandops.lib.api.tokens import SCOPES, make_token
from bandops.wsgi import application
from drill.lineup.services.drafts import open_draft
from drill.publishing.services.publishing import publish_lineup
from tests.drill.lineup.api_help import _no_throttle_left_over, signed, unthrottled
from tests.examples import examples
from tests.factories import Band, Cast
from tests.factories.store import make_store_rows

__all__ = ["_no_throttle_left_over", "unthrottled"]

pytestmark = pytest.mark.django_db


@pytest.fixture
def one_connection() -> Iterator[None]:
    """Requests that do not come from Django's own client must not close the test's connection."""
    signals = (request_started, request_finished)
    for signal in signals:
        signal.disconnect(close_old_connections)
    yield
    for signal in signals:
        signal.connect(close_old_connections)


def published(band: Band, cast: Cast) -> None:
    draft = open_draft(actor=cast.staff, event=band.event)
    publish_lineup(actor=cast.staff, event=band.event, seen_version=draft.version, seen_number=None)


# The description


@pytest.mark.source(
    "JSON schema of the OpenAPI Specification 3.0, published by the OpenAPI Initiative"
)
def test_the_description_is_valid(cast: Cast) -> None:
    url, kind = reverse("api-schema"), "application/vnd.oai.openapi+json"
    text = signed(cast.outsider).get(url, HTTP_ACCEPT=kind)
    document = json.loads(text.content)
    validate_schema(document)  # type: ignore[no-untyped-call]
    assert document["openapi"] == "3.1.0"
    described = {f"/api/v1/{path}" for path in DESCRIBED.split()}
    assert set(document["paths"]) == described
    examples = json.dumps(document["components"]["schemas"]) + json.dumps(document["paths"])
    assert "Ana Nightjar" in examples, "examples are part of it"


DESCRIBED = (
    "absences/ absences/{id}/ absences/{id}/withdraw/ alternates/ attendance/ backups/ blocks/ "
    "challenge-rounds/ challenges/ coordinates/ events/ "
    "events/{id}/ events/{id}/lineup/ items/ items/{id}/ items/{id}/hand-out/ "
    "items/{id}/take-back/ kinds/ members/ members/{id}/ parts/ ranks/ record/ results/ seasons/ "
    "sets/ shows/ solve/ spots/ travellers/ tryouts/"
)


@pytest.mark.postgres("odd values reach the database")
def test_answers_keep_to_the_description(
    band: Band, cast: Cast, unthrottled: None, one_connection: None
) -> None:
    """No request that the description allows, and none it forbids, breaks the server; whatever is
    answered is described, and what goes wrong is a problem."""
    published(band, cast)
    make_store_rows(band.season, cast.staff, *list(band.members.values())[:2])
    _, text = make_token(actor=cast.staff, name="Fuzz", scopes=SCOPES, days=1)
    headers = {"Authorization": f"Bearer {text}", "If-Match": "*"}
    described = schemathesis.openapi.from_wsgi("/api/schema/", application, headers=headers)
    calls = 0
    for found in described.get_all_operations():
        assert isinstance(found, Ok)
        operation = found.ok()

        @examples(12, long=400, database=None)
        @given(case=operation.as_strategy())
        def keeps_to_it(case: schemathesis.Case[Any]) -> None:
            nonlocal calls
            calls += 1
            answer = case.call_and_validate(
                checks=[not_a_server_error, response_schema_conformance], headers=headers
            )
            if answer.status_code >= 400:
                kind = answer.headers["content-type"][0]
                assert kind == "application/problem+json", kind

        keeps_to_it()
    assert calls > 12 * 20, calls


# Who may


def test_answers_are_not_kept_on_the_way(band: Band, cast: Cast) -> None:
    published(band, cast)
    client = signed(cast.member)
    for name, args in (("api-events", []), ("api-lineup", [band.event.pk])):
        response = client.get(reverse(name, args=args))
        assert response.status_code == 200
        assert response["Cache-Control"] == "private, no-store"


def test_a_published_lineup_reads_as_names_and_spots(band: Band, cast: Cast) -> None:
    client, url = signed(cast.member), reverse("api-lineup", args=[band.event.pk])
    assert client.get(url).status_code == 404, "a draft is nobody's to read here"
    published(band, cast)
    answer = client.get(url).json()
    assert (answer["event"], answer["revision"]) == ("Pellowick at home", 1)
    assert {
        "segment": "Halftime",
        "rank": "1",
        "spot": "1-3",
        "part": "Trumpet",
        "member": "Cai Ørnberg",
    } in answer["seats"]
    assert {frozenset(seat) for seat in answer["seats"]} == {
        frozenset({"segment", "rank", "spot", "part", "member"})
    }
