"""Problems posted to the API, and clients that post them."""

from __future__ import annotations

import copy
import json
from collections.abc import Iterator
from typing import Any

import pytest
from django.core.cache import cache
from django.test import Client

from drill.lineup.api import lineups

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
    "blocks": [{"member": "cai", "spot": "1-3"}],
    "left_open": [],
    "backups": [{"spot": "1-1", "member": "cai", "order": 1}],
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
