"""The API's limits: sizes, what is no problem, what makes no sense, how often."""

from __future__ import annotations

import copy
from collections.abc import Iterator
from typing import Any

import pytest
from django.conf import settings

from drill.lineup.api.problems import (
    MOST_MEMBERS,
    MOST_ROWS,
    MOST_SEGMENTS,
    MOST_SKILLS,
    MOST_SPOTS,
)
from tests.drill.lineup.api_help import (
    PROBLEM,
    SOLVE,
    _no_throttle_left_over,
    problem,
    signed,
    solved,
    unthrottled,
)
from tests.factories import Cast

__all__ = ["_no_throttle_left_over", "unthrottled"]

pytestmark = pytest.mark.django_db


def _too_many() -> dict[str, dict[str, Any]]:
    member, spot = PROBLEM["members"][0], PROBLEM["spots"][0]
    seat = PROBLEM["pins"][0]
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
        "reference": {"reference": [seat] * (MOST_ROWS + 1)},
        "pins": {"pins": [seat] * (MOST_SPOTS + 1)},
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
    yield (
        "no such block",
        problem(blocks=[{"member": "nobody", "segment": "nowhere", "spot": "9-9"}]),
    )
    yield "no such open seat", problem(left_open=[{"segment": "nowhere", "spot": "9-9"}])
    yield "no such backup", problem(backups=[{"spot": "9-9", "member": "nobody", "order": 99}])
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
    rates = settings.REST_FRAMEWORK["DEFAULT_THROTTLE_RATES"]
    assert isinstance(rates, dict)
    rate = int(rates["solve"].split("/")[0])
    codes = [solved(client, {}).status_code for _ in range(rate + 1)]
    assert codes == [400] * rate + [429]
    assert solved(signed(cast.director), {}).status_code == 400, "each account has its own"
