"""The API solves problems that are posted, and saves nothing."""

from __future__ import annotations

import copy

import pytest
from django.apps import apps

from bandops.lib.audit.models import AuditEntry
from tests.drill.lineup.api_help import PROBLEM, _no_throttle_left_over, problem, signed, solved
from tests.factories import Band, Cast

__all__ = ["_no_throttle_left_over"]

pytestmark = pytest.mark.django_db


# Who may


@pytest.mark.parametrize(
    "role", ["equipment", "evaluator", "leader", "member", "outsider", "visitor"]
)
def test_only_staff_have_problems_solved(cast: Cast, role: str) -> None:
    refused = 401 if role == "visitor" else 403  # a visitor is told to bring a token
    assert solved(signed(cast.named(role)), PROBLEM).status_code == refused


def test_a_post_without_the_token_is_refused(cast: Cast) -> None:
    client = signed(cast.staff, enforce_csrf_checks=True)
    response = solved(client, PROBLEM)
    assert response.status_code == 403 and "CSRF" in response.json()["detail"]


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
