"""What all of the API keeps to: tokens, pages, tags, keys, problems; and its example client."""

from __future__ import annotations

import datetime
import json
import os
import re
import subprocess
import sys
from collections.abc import Callable
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse
from django.utils import timezone
from pytest_django.live_server_helper import LiveServer

from bandops.env import ROOT
from bandops.lib.accounts.models import User
from bandops.lib.api.models import ApiToken
from bandops.lib.api.tokens import SCOPES, make_token
from bandops.lib.audit.models import AuditEntry
from bandops.lib.models import SentForm
from drill.absences.models import Absence
from drill.events.models import Event
from drill.lineup.services.drafts import open_draft
from drill.publishing.services.publishing import publish_lineup
from roster.people.models import Member
from roster.people.services.accounts import sign_out_everywhere
from tests.architecture.access_table import TABLE
from tests.factories import Band, Cast

pytestmark = pytest.mark.django_db
SignIn = Callable[[User | None], Client]
PROBLEM = "application/problem+json"


def token(user: User, *scopes: str) -> Client:
    """A program with a token of the account."""
    _, text = make_token(actor=user, name="A program", scopes=scopes or SCOPES, days=30)
    return Client(headers={"Authorization": f"Bearer {text}"})


def post(client: Client, path: str, body: object, key: str = "") -> Any:
    headers = {"Idempotency-Key": key} if key else {}
    return client.post(path, json.dumps(body), "application/json", headers=headers)


def absence(band: Band, name: str = "Cai Ørnberg") -> dict[str, Any]:
    return {"member": band.members[name].pk, "kind": "out", "event": band.event.pk}


@pytest.mark.parametrize("number", [-(10**19), 10**19, 2**63, -1, "1.5", "0x10", "١"])
def test_a_number_nobody_has_filters_nothing_in(band: Band, cast: Cast, number: object) -> None:
    """Found by fuzzing: a number that no column holds went to the database."""
    client = token(cast.staff)
    schema = client.get("/api/schema/", headers={"Accept": "application/json"}).json()
    asked = 0
    for path, operations in schema["paths"].items():
        for told in operations.get("get", {}).get("parameters", []):
            if told["in"] == "query" and told["schema"].get("type") in ("integer", "number"):
                answer = client.get(path, {told["name"]: number})
                said = f"{path}?{told['name']}={number}"
                assert answer.status_code in (200, 400, 404), said
                is_page = told["name"] in ("page", "page_size")
                assert is_page or answer.status_code != 200 or answer.json() == [], said
                asked += 1
    assert asked > 30


# Tokens


def test_a_token_may_what_its_account_and_its_scopes_may(band: Band, cast: Cast) -> None:
    reads = token(cast.staff, "people:read")
    assert reads.get("/api/v1/members/").status_code == 200
    assert reads.get("/api/v1/absences/").status_code == 403, "not in its scopes"
    member = token(cast.member, "people:read", "lineups:read", "events:read")
    assert member.get("/api/v1/members/").status_code == 403, "a token gives nobody more"
    assert member.get("/api/v1/events/").status_code == 200
    writes = token(cast.staff, "absences:read")
    assert post(writes, "/api/v1/absences/", absence(band), "k").status_code == 403


@pytest.mark.source("RFC 6750, 3: 401 with WWW-Authenticate: Bearer")
def test_a_token_that_is_over_revoked_or_wrong_opens_nothing(cast: Cast) -> None:
    client = token(cast.staff)
    assert client.get("/api/v1/parts/").status_code == 200
    row = ApiToken.objects.get()
    for change in (
        {"expires_at": timezone.now() - datetime.timedelta(seconds=1)},
        {"revoked_at": timezone.now()},
    ):
        before = {name: getattr(row, name) for name in change}
        ApiToken.objects.update(**change)
        answer = client.get("/api/v1/parts/")
        assert answer.status_code == 401 and answer["WWW-Authenticate"] == "Bearer"
        ApiToken.objects.update(**before)
    wrong = Client(headers={"Authorization": "Bearer bo_nothing"})
    assert wrong.get("/api/v1/parts/").status_code == 401
    User.objects.filter(pk=cast.staff.pk).update(is_active=False)
    assert client.get("/api/v1/parts/").status_code == 401, "with its account it goes"


def test_signing_out_everywhere_ends_tokens(cast: Cast) -> None:
    client = token(cast.staff)
    sign_out_everywhere(actor=cast.staff, user=cast.staff)
    assert client.get("/api/v1/parts/").status_code == 401


def test_a_token_is_shown_once_and_kept_as_a_digest(
    band: Band, cast: Cast, signed_in: SignIn
) -> None:
    client = signed_in(cast.staff)
    data = {"name": "Scoreboard", "scopes": ["lineups:read"], "days": "30"}
    page = client.post(reverse("api-tokens"), data).content.decode()
    (text,) = re.findall(r"bo_[\w-]{40,}", page)
    assert "bo_" not in client.get(reverse("api-tokens")).content.decode()
    row = ApiToken.objects.get()
    assert text not in json.dumps(row.__dict__, default=str)
    entries = AuditEntry.objects.filter(table="lib_apitoken")
    assert entries.exists() and text not in str(list(entries.values()))
    assert "digest" not in (entries[0].after or {})
    client.post(reverse("api-token-revoke", args=[row.pk]))
    made = Client(headers={"Authorization": f"Bearer {text}"})
    assert made.get("/api/v1/backups/").status_code == 401


# Lists


@pytest.mark.source("RFC 8288, 3: Link with rel next and prev")
def test_a_list_comes_in_pages_that_leave_nobody_out(band: Band, cast: Cast) -> None:
    client, url = token(cast.staff), "/api/v1/members/?page_size=4"
    found: list[int] = []
    while url:
        answer = client.get(url)
        assert answer["Total-Count"] == str(len(band.members)) and len(answer.json()) <= 4
        found += [row["id"] for row in answer.json()]
        link = re.search(r'<http://testserver([^>]*)>; rel="next"', answer.get("Link", ""))
        url = link[1] if link else ""
    assert sorted(found) == sorted(m.pk for m in band.members.values())


def test_lists_are_narrowed_by_their_parameters(band: Band, cast: Cast) -> None:
    client = token(cast.staff)
    post(client, "/api/v1/absences/", absence(band), "one")
    there = client.get("/api/v1/absences/", {"event": band.event.pk}).json()
    assert [row["name"] for row in there] == ["Cai Ørnberg"]
    assert client.get("/api/v1/absences/", {"kind": "late"}).json() == []
    spots = client.get("/api/v1/spots/", {"rank": "1"}).json()
    assert spots and {row["rank"] for row in spots} == {"1"}
    wrong = client.get("/api/v1/absences/", {"kind": "nonsense"})
    assert wrong.status_code == 400 and wrong["Content-Type"] == PROBLEM


@pytest.mark.source("RFC 9110, 13.1.2: If-None-Match answered by 304")
def test_what_has_not_changed_is_not_sent_again(band: Band, cast: Cast) -> None:
    client = token(cast.staff)
    first = client.get("/api/v1/members/")
    again = client.get("/api/v1/members/", headers={"If-None-Match": first["ETag"]})
    assert again.status_code == 304 and again.content == b""
    Member.objects.filter(pk=band.members["Ida Voss"].pk).update(phone="555-0100")
    later = client.get("/api/v1/members/", headers={"If-None-Match": first["ETag"]})
    assert later.status_code == 200 and later["ETag"] != first["ETag"]


# Writes


@pytest.mark.postgres("the key is written with what it does")
def test_a_write_sent_again_is_done_once_and_answered_alike(band: Band, cast: Cast) -> None:
    client = token(cast.staff)
    first = post(client, "/api/v1/absences/", absence(band), "one")
    again = post(client, "/api/v1/absences/", absence(band), "one")
    assert first.status_code == again.status_code == 201
    assert first.json() == again.json() and again["Idempotency-Replayed"] == "true"
    assert Absence.objects.count() == 1
    other = post(client, "/api/v1/absences/", absence(band, "Ida Voss"), "one")
    assert other.status_code == 422 and other.json()["type"] == "/api/#key-reused"
    missing = post(client, "/api/v1/absences/", absence(band, "Ida Voss"))
    assert missing.status_code == 400 and "Idempotency-Key" in missing.json()["detail"]
    assert Absence.objects.count() == 1


def test_a_refused_write_may_be_corrected_under_its_key(band: Band, cast: Cast) -> None:
    client = token(cast.staff)
    wrong = absence(band) | {"kind": "late"}
    refused = post(client, "/api/v1/absences/", wrong, "one")
    assert refused.status_code == 400
    assert [e["pointer"] for e in refused.json()["errors"]] == ["#/late_until"]
    right = post(client, "/api/v1/absences/", wrong | {"late_until": "17:30"}, "one")
    assert right.status_code == 201


def test_a_lost_answer_is_said_to_be_lost(band: Band, cast: Cast) -> None:
    """The server died between the commit and the answer."""
    client = token(cast.staff)
    post(client, "/api/v1/absences/", absence(band), "one")
    SentForm.objects.update(answer=None)
    again = post(client, "/api/v1/absences/", absence(band), "one")
    assert again.status_code == 409 and again.json()["type"] == "/api/#answer-lost"
    assert Absence.objects.count() == 1


@pytest.mark.source("RFC 9110, 13.1.1: If-Match; RFC 6585, 3: 428")
def test_a_change_names_what_it_has_seen(band: Band, cast: Cast) -> None:
    client, url = token(cast.staff), f"/api/v1/members/{band.members['Ida Voss'].pk}/"
    tag = client.get(url)["ETag"]

    def patch(body: object, **headers: str) -> Any:
        return client.patch(url, json.dumps(body), "application/json", headers=headers)

    assert patch({"phone": "555-0101"}).status_code == 428
    changed = patch({"phone": "555-0101"}, **{"If-Match": tag})
    assert changed.status_code == 200 and changed.json()["phone"] == "555-0101"
    stale = patch({"phone": "555-0102"}, **{"If-Match": tag})
    assert stale.status_code == 412 and stale["Content-Type"] == PROBLEM
    assert Member.objects.get(pk=band.members["Ida Voss"].pk).phone == "555-0101"


def test_events_are_added_and_changed(band: Band, cast: Cast) -> None:
    client = token(cast.staff)
    day = band.event.date.isoformat()
    body = {"name": "Evening parade", "kind": "parade", "date": day, "time_zone": "UTC"}
    made = post(client, "/api/v1/events/", body, "e1")
    assert made.status_code == 201, made.content
    twice = post(client, "/api/v1/events/", body, "e2")
    assert twice.status_code in (400, 422), "there is one by that name that day"
    url = f"/api/v1/events/{made.json()['id']}/"
    tag = client.get(url)["ETag"]
    change = {"call_time": "18:30"}
    answer = client.patch(url, json.dumps(change), "application/json", headers={"If-Match": tag})
    assert answer.status_code == 200 and answer.json()["call_time"] == "18:30:00"
    event = Event.objects.get(pk=made.json()["id"])
    assert (event.name, event.kind) == ("Evening parade", "parade"), "what is not sent stays"


def test_a_write_is_signed_and_taken_back_like_any_other(band: Band, cast: Cast) -> None:
    post(token(cast.staff), "/api/v1/absences/", absence(band), "one")
    entry = AuditEntry.objects.filter(table="absences_absence").latest("pk")
    assert (entry.actor_id, entry.action) == (cast.staff.pk, "report absence")
    found = token(cast.staff).get("/api/v1/absences/").json()[0]
    url = f"/api/v1/absences/{found['id']}/withdraw/"
    taken = post(token(cast.staff), url, None, "two")
    assert taken.status_code == 200 and taken.json()["state"] == "withdrawn"
    again = post(token(cast.staff), url, None, "three")
    assert again.status_code == 409 and again.json()["type"] == "/api/#refused"


# Problems


@pytest.mark.source("RFC 9457, 3.1: type, title, status, detail")
def test_whatever_goes_wrong_is_a_problem(band: Band, cast: Cast) -> None:
    staff, visitor = token(cast.staff), Client()
    answers = [
        visitor.get("/api/v1/members/"),
        token(cast.member).get("/api/v1/members/"),
        staff.get("/api/v1/members/999999/"),
        staff.get(f"/api/v1/members/{10**30}/"),
        staff.post("/api/v1/members/"),
        post(staff, "/api/v1/absences/", [], "k"),
        staff.post("/api/v1/absences/", "{", "application/json", headers={"Idempotency-Key": "x"}),
        staff.get(f"/api/v1/events/{band.event.pk}/lineup/"),
        staff.get("/api/v1/members/?page=999"),
    ]
    for answer in answers:
        body = answer.json()
        assert answer["Content-Type"] == PROBLEM, answer.request["PATH_INFO"]
        assert {"type", "title", "status"} <= set(body) and body["status"] == answer.status_code
        assert answer["Cache-Control"] == "private, no-store"
    assert [a.status_code for a in answers] == [401, 403, 404, 404, 405, 400, 400, 404, 404]


def test_every_kind_of_problem_is_explained_on_the_page(cast: Cast, signed_in: SignIn) -> None:
    page = signed_in(cast.staff).get(reverse("api-docs")).content.decode()
    source = "".join(path.read_text() for path in (ROOT / "bandops" / "lib" / "api").glob("*.py"))
    kinds = set(re.findall(r'Problem\(\d+, "([\w-]+)"', source))
    kinds |= set(re.findall(r'problem\(\d+, "([\w-]+)"', source)) | {"no-lineup"}
    assert kinds and not [kind for kind in kinds if f'id="{kind}"' not in page]
    assert not [scope for scope in SCOPES if scope not in page]


def test_every_address_of_the_api_asks_for_a_scope_that_there_is() -> None:
    from django.urls import get_resolver

    views = {
        pattern.name: pattern.callback
        for pattern in _patterns(get_resolver().url_patterns)
        if (pattern.name or "").startswith("api-") and hasattr(pattern.callback, "view_class")
    }
    views.pop("api-schema")
    assert set(views) <= set(TABLE)
    asked = {}
    for name, view in views.items():
        made = view.view_class()
        asked[name] = {made.scope_for(method) for method in ("GET", "POST")}
    assert not {n: s for n, s in asked.items() if not s <= set(SCOPES)}
    assert set().union(*asked.values()) == set(SCOPES)


def _patterns(patterns: Any) -> Any:
    for pattern in patterns:
        yield from (
            _patterns(pattern.url_patterns) if hasattr(pattern, "url_patterns") else [pattern]
        )


# The example


@pytest.mark.servers
@pytest.mark.django_db(transaction=True)
def test_the_example_of_a_client_does_what_it_says(
    live_server: LiveServer, band: Band, cast: Cast
) -> None:
    tomorrow = timezone.localdate() + datetime.timedelta(days=1)
    Event.objects.filter(pk=band.event.pk).update(date=tomorrow)
    band.season.starts = timezone.localdate() - datetime.timedelta(days=5)
    band.season.save()
    draft = open_draft(actor=cast.staff, event=band.event)
    publish_lineup(actor=cast.staff, event=band.event, seen_version=draft.version, seen_number=None)
    _, text = make_token(actor=cast.staff, name="Example", scopes=SCOPES, days=1)

    def run(*arguments: str) -> tuple[int, str]:
        done = subprocess.run(
            [sys.executable, str(ROOT / "deploy" / "api_client.py"), *arguments],
            env=os.environ | {"BANDOPS": live_server.url, "TOKEN": text},
            capture_output=True,
            text=True,
        )
        return done.returncode, done.stdout + done.stderr

    code, said = run("lineup")
    assert code == 0 and "revision 1" in said and "Ana Núñez" in said
    assert run("out", "Ida Voss", str(band.event.pk)) == (0, "Ida Voss is confirmed as out.\n")
    code, said = run("out", "Nobody", str(band.event.pk))
    assert code == 1 and said == "0 members are called Nobody.\n"
    assert Absence.objects.get().member == band.members["Ida Voss"]
