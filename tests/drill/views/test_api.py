"""The API: its description, its answers, its limits, and that solving saves nothing."""

from __future__ import annotations

import copy
import json
from collections.abc import Iterator
from typing import Any

import pytest
import schemathesis
from django.apps import apps
from django.conf import settings
from django.core.cache import cache
from django.core.signals import request_finished, request_started
from django.db import close_old_connections
from django.test import Client
from django.urls import reverse
from drf_spectacular.validation import validate_schema
from hypothesis import given
from schemathesis.checks import not_a_server_error
from schemathesis.specs.openapi.checks import response_schema_conformance

from bandops.lib.audit.models import AuditEntry
from bandops.wsgi import application
from drill.api import lineups
from drill.api.problems import MOST_MEMBERS, MOST_ROWS, MOST_SEGMENTS, MOST_SKILLS, MOST_SPOTS
from drill.services.lineups import open_draft
from drill.services.publishing import publish_lineup
from tests.examples import examples
from tests.factories import Band, Cast

pytestmark = pytest.mark.django_db

BACKEND = "django.contrib.auth.backends.ModelBackend"
SOLVE = "/api/v1/solve/"
PROBLEM: dict[str, Any] = {
    "members": [
        {"key": "ana", "skills": [{"part": "trumpet"}], "holds": "1-1", "rank": "1"},
        {"key": "bo", "skills": [{"part": "trumpet"}], "holds": "1-2", "rank": "1"},
        {
            "key": "cai",
            "skills": [{"part": "trumpet"}, {"part": "sousaphone", "own_instrument": True}],
            "rank": "1",
            "standing": 1,
            "standing_part": "trumpet",
        },
    ],
    "spots": [
        {"key": "1-1", "rank": "1", "part": "trumpet"},
        {"key": "1-2", "rank": "1", "part": "trumpet", "weight": 3},
        {"key": "1-3", "rank": "1", "part": "sousaphone", "needs_experience": True},
    ],
    "segments": [{"key": "halftime", "spots": ["1-1", "1-2", "1-3"]}],
    "parts": [
        {"key": "trumpet", "instrument": "trumpet"},
        {"key": "sousaphone", "instrument": "sousaphone"},
    ],
    "ranks": [{"key": "1", "leaders": ["ana", "bo"]}],
    "reference": [
        {"segment": "halftime", "spot": "1-1", "member": "ana"},
        {"segment": "halftime", "spot": "1-2", "member": "bo"},
    ],
    "pins": [{"segment": "halftime", "spot": "1-2", "member": "bo"}],
    "bars": [{"member": "cai", "spot": "1-3"}],
    "left_open": [],
    "covers": [{"spot": "1-1", "member": "cai", "order": 1}],
    "relearning": [{"member": "cai", "spot": "1-1", "cost": 20}],
    "stock": [{"instrument": "sousaphone", "count": 1}],
    "travel_limit": None,
}


@pytest.fixture(autouse=True)
def _no_throttle_left_over() -> Iterator[None]:
    cache.clear()
    yield
    cache.clear()


@pytest.fixture
def unthrottled(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(lineups.Solve, "throttle_classes", [])


@pytest.fixture
def one_connection() -> Iterator[None]:
    """Requests that do not come from Django's own client must not close the test's connection."""
    signals = (request_started, request_finished)
    for signal in signals:
        signal.disconnect(close_old_connections)
    yield
    for signal in signals:
        signal.connect(close_old_connections)


def signed(user: Any, **options: Any) -> Client:
    client = Client(**options)
    if user is not None:
        client.force_login(user, backend=BACKEND)
    return client


def solved(client: Client, problem: object) -> Any:
    return client.post(SOLVE, json.dumps(problem), content_type="application/json")


def problem(**changes: object) -> dict[str, Any]:
    """The small problem with other values."""
    return copy.deepcopy(PROBLEM) | changes


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
    validate_schema(document)
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
        operation = found.ok()

        @examples(20, long=400, database=None)
        @given(case=operation.as_strategy())
        def keeps_to_it(case: schemathesis.Case) -> None:
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


@pytest.mark.parametrize("role", ["gear", "evaluator", "leader", "member", "outsider", "visitor"])
def test_only_staff_have_problems_solved(cast: Cast, role: str) -> None:
    assert solved(signed(cast.named(role)), PROBLEM).status_code == 403


def test_a_post_without_the_token_is_refused(cast: Cast) -> None:
    client = signed(cast.staff, enforce_csrf_checks=True)
    response = solved(client, PROBLEM)
    assert response.status_code == 403 and "CSRF" in response.json()["detail"]


def test_answers_are_not_kept_on_the_way(band: Band, cast: Cast) -> None:
    published(band, cast)
    client = signed(cast.member)
    for name, args in (("api-events", []), ("api-lineup", [band.event.pk])):
        response = client.get(reverse(name, args=args))
        assert response.status_code == 200
        assert response["Cache-Control"] == "private, no-store"


def test_a_published_lineup_reads_as_names_and_places(band: Band, cast: Cast) -> None:
    client, url = signed(cast.member), reverse("api-lineup", args=[band.event.pk])
    assert client.get(url).status_code == 404, "a draft is nobody's to read here"
    published(band, cast)
    answer = client.get(url).json()
    assert (answer["event"], answer["revision"]) == ("Brackenfield at home", 1)
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


# Solving


def test_a_posted_problem_is_solved_and_nothing_saved(band: Band, cast: Cast) -> None:
    client = signed(cast.staff)
    before = {model: model._default_manager.count() for model in apps.get_models()}
    response = solved(client, PROBLEM)
    assert response.status_code == 200, response.content
    seats = {p["spot"]: (p["member"], p["origin"]) for p in response.json()["placements"]}
    assert seats == {"1-1": ("ana", "holds"), "1-2": ("bo", "pinned"), "1-3": (None, "hole")}
    assert response.json()["proven"] is True
    after = {model: model._default_manager.count() for model in apps.get_models()}
    assert after == before
    assert before[AuditEntry] == AuditEntry.objects.count()


def test_the_same_problem_in_another_order_has_the_same_answer(cast: Cast) -> None:
    client = signed(cast.staff)
    turned = {k: v[::-1] if isinstance(v, list) else v for k, v in PROBLEM.items()}
    assert solved(client, turned).json() == solved(client, PROBLEM).json()


@pytest.mark.parametrize(
    "pins",
    [
        [("halftime", "1-1", "ana"), ("halftime", "1-1", "bo")],
        [("halftime", "1-1", "ana"), ("halftime", "1-2", "ana")],
        [("halftime", "1-3", "ana")],
        [("halftime", "1-1", "nobody of the problem")],
    ],
)
def test_contradictory_pins_are_named(cast: Cast, pins: list[tuple[str, str, str]]) -> None:
    rows = [dict(zip(("segment", "spot", "member"), pin, strict=True)) for pin in pins]
    response = solved(signed(cast.staff), problem(pins=rows))
    assert response.status_code == 422, response.content
    assert response.json()["detail"]


def test_a_travel_limit_nobody_can_keep_is_said(cast: Cast) -> None:
    members = copy.deepcopy(PROBLEM["members"])
    for member in members:
        member["must_travel"] = True
    response = solved(signed(cast.staff), problem(members=members, travel_limit=1, pins=[]))
    assert response.status_code == 422, response.content


def _too_many() -> dict[str, dict[str, Any]]:
    member, spot = PROBLEM["members"][0], PROBLEM["spots"][0]
    place = PROBLEM["pins"][0]
    return {
        "members": {"members": [member | {"key": f"m{n}"} for n in range(MOST_MEMBERS + 1)]},
        "spots": {"spots": [spot | {"key": f"s{n}"} for n in range(MOST_SPOTS + 1)]},
        "segments": {"segments": [{"key": f"g{n}", "spots": []} for n in range(MOST_SEGMENTS + 1)]},
        "seats": {
            "spots": [spot | {"key": f"s{n}"} for n in range(MOST_SPOTS)],
            "segments": [
                {"key": f"g{g}", "spots": [f"s{n}" for n in range(MOST_SPOTS)]} for g in range(4)
            ],
        },
        "skills": {"members": [member | {"skills": [{"part": "trumpet"}] * (MOST_SKILLS + 1)}]},
        "away": {"members": [member | {"away": ["x"] * (MOST_SEGMENTS + 1)}]},
        "reference": {"reference": [place] * (MOST_ROWS + 1)},
        "pins": {"pins": [place] * (MOST_SPOTS + 1)},
        "keys": {"parts": [{"key": "k" * 61, "instrument": "x"}]},
        "figures": {"travel_limit": 10**9},
    }


@pytest.mark.parametrize("what", _too_many())
def test_sizes_are_limited(cast: Cast, what: str) -> None:
    response = solved(signed(cast.staff), problem(**_too_many()[what]))
    assert response.status_code == 400, response.content[:300]


@pytest.mark.parametrize(
    "body",
    [
        "",
        "{",
        "[]",
        "null",
        '"text"',
        "[" * 100_000,
        '{"members": NaN}',
        '{"members": [1e999]}',
        '{"members": "\\ud800"}',
        '{"travel_limit": ' + "9" * 5000 + "}",
        "\x00",
    ],
)
def test_what_is_no_problem_is_a_bad_request(cast: Cast, body: str) -> None:
    response = signed(cast.staff).post(SOLVE, body, content_type="application/json")
    assert response.status_code == 400


def test_a_body_that_is_too_large_is_not_read(cast: Cast) -> None:
    body = " " * (settings.DATA_UPLOAD_MAX_MEMORY_SIZE + 1)
    response = signed(cast.staff).post(SOLVE, body, content_type="application/json")
    assert response.status_code == 400


def _odd_problems() -> Iterator[tuple[str, dict[str, Any]]]:
    """Problems that are well-formed row by row and still make no sense."""
    for name, value in PROBLEM.items():
        if isinstance(value, list):
            yield f"{name} twice", problem(**{name: value * 2})
            if name not in ("segments",):
                yield f"no {name}", problem(**{name: []})
    unknown = {"segment": "nowhere", "spot": "9-9", "member": "nobody"}
    yield "no such reference", problem(reference=[unknown])
    yield "no such pin", problem(pins=[unknown])
    yield "no such bar", problem(bars=[{"member": "nobody", "segment": "nowhere", "spot": "9-9"}])
    yield "no such open seat", problem(left_open=[{"segment": "nowhere", "spot": "9-9"}])
    yield "no such cover", problem(covers=[{"spot": "9-9", "member": "nobody", "order": 99}])
    yield "no such move", problem(relearning=[{"member": "nobody", "spot": "9-9", "cost": 1}])
    yield "no such stock", problem(stock=[{"instrument": "bagpipe", "count": 0}])
    yield "no such rank", problem(ranks=[{"key": "9", "leaders": ["nobody", "nobody"]}])
    yield "empty segment", problem(segments=[{"key": "halftime", "spots": []}], pins=[])
    yield "no room", problem(travel_limit=0, pins=[])
    two = [{"segment": "halftime", "spot": s, "member": "ana"} for s in ("1-1", "1-2")]
    yield "one member referred to twice", problem(reference=two, pins=[])
    members = copy.deepcopy(PROBLEM["members"])
    yield "two holders", problem(members=[m | {"holds": "1-1"} for m in members])
    yield "holds nothing known", problem(members=[m | {"holds": "9-9"} for m in members])
    yield "unknown skill", problem(members=[m | {"skills": [{"part": "?"}]} for m in members])
    yield "away nowhere", problem(members=[m | {"away": ["nowhere"]} for m in members])
    yield "standing high", problem(members=[m | {"standing": 99} for m in members])


def test_problems_that_make_no_sense_are_answered(cast: Cast, unthrottled: None) -> None:
    client = signed(cast.staff)
    codes = {odd: solved(client, posted).status_code for odd, posted in _odd_problems()}
    assert len(codes) > 30
    assert not {odd: code for odd, code in codes.items() if code not in (200, 400, 422)}


def test_solving_is_throttled(cast: Cast) -> None:
    client = signed(cast.staff)
    rate = int(settings.REST_FRAMEWORK["DEFAULT_THROTTLE_RATES"]["solve"].split("/")[0])
    codes = [solved(client, {}).status_code for _ in range(rate + 1)]
    assert codes == [400] * rate + [429]
    assert solved(signed(cast.director), {}).status_code == 400, "each account has its own"
