"""The API: its description, its answers, and who may read them."""

from __future__ import annotations

import json
from collections.abc import Iterator
from typing import Any

import pytest
import schemathesis
from django.conf import settings
from django.core.signals import request_finished, request_started
from django.db import close_old_connections
from django.test import Client
from django.urls import reverse
from drf_spectacular.validation import validate_schema
from hypothesis import given
from schemathesis.checks import not_a_server_error
from schemathesis.core.result import Ok
from schemathesis.specs.openapi.checks import response_schema_conformance

from bandops.wsgi import application
from drill.lineup.services.drafts import open_draft
from drill.publishing.services.publishing import publish_lineup
from tests.drill.lineup.api_help import _no_throttle_left_over, signed, unthrottled
from tests.examples import examples
from tests.factories import Band, Cast

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
def test_the_description_is_valid(client: Client, db: None) -> None:
    text = client.get(reverse("api-schema"), HTTP_ACCEPT="application/vnd.oai.openapi+json")
    document = json.loads(text.content)
    validate_schema(document)  # type: ignore[no-untyped-call]
    assert set(document["paths"]) == {
        "/api/v1/events/",
        "/api/v1/events/{id}/lineup/",
        "/api/v1/solve/",
    }


@pytest.mark.postgres("odd values reach the database")
def test_answers_keep_to_the_description(
    band: Band, cast: Cast, unthrottled: None, one_connection: None
) -> None:
    """No request that the description allows, and none it forbids, breaks the server."""
    published(band, cast)
    session = signed(cast.staff).cookies[settings.SESSION_COOKIE_NAME].value
    token = "t" * 32
    described = schemathesis.openapi.from_wsgi("/api/schema/", application)
    for found in described.get_all_operations():
        assert isinstance(found, Ok)
        operation = found.ok()

        @examples(20, long=400, database=None)
        @given(case=operation.as_strategy())
        def keeps_to_it(case: schemathesis.Case[Any]) -> None:
            case.call_and_validate(
                checks=[not_a_server_error, response_schema_conformance],
                headers={"X-CSRFToken": token},
                cookies={
                    settings.SESSION_COOKIE_NAME: session,
                    settings.CSRF_COOKIE_NAME: token,
                },
            )

        keeps_to_it()


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
