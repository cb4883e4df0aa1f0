"""What every page keeps to: headers, markup, forms, tokens."""

from __future__ import annotations

from typing import Any

import pytest
from django.conf import settings
from django.template.loader import get_template, render_to_string
from django.test import override_settings
from django.urls import reverse

from bandops.lib.audit.models import AuditEntry
from tests.architecture.access_table import TABLE, sliced
from tests.architecture.markup import Markup, headers_wrong
from tests.architecture.signing_in import PASSWORD, entered, set_password
from tests.architecture.world import World, client_of, undone, url_of
from tests.factories import Cast

pytestmark = [pytest.mark.django_db, pytest.mark.walk]
FRAGMENTS = {"revision-progress", "call-progress", "plan-progress"}
"""what htmx puts into a page, never a page of its own"""
ASKED_AGAIN = {"calendar-feed"}
"""what the reader's own program keeps, and asks for again before each use"""


@pytest.mark.parametrize("names", sliced(2))
@pytest.mark.parametrize("role", ["director", "staff", "leader", "member", "equipment", "visitor"])
def test_every_page_keeps_to_the_rules(
    world: World, cast: Cast, role: str, names: list[str]
) -> None:
    client = client_of(cast, role)
    wrong = []
    for name in set(names) - {"api-schema"}:
        with undone():
            response = client.get(url_of(name, world))
        kept_as = "no-cache" if name in ASKED_AGAIN else "no-store"
        wrong += [f"{name}: {fault}" for fault in headers_wrong(response, kept_as)]
        is_page = response.get("Content-Type", "").startswith("text/html") and response.content
        if is_page and response.status_code != 405 and name not in FRAGMENTS:
            wrong += [f"{name}: {f}" for f in Markup(response.content.decode()).faults]
    assert not wrong, "\n".join(wrong)


def test_forms_with_errors_keep_to_the_rules(world: World, cast: Cast) -> None:
    client = client_of(cast, "director")
    wrong, seen = [], 0
    for name, row in TABLE.items():
        if row.get != "ok":
            continue
        with undone():
            response = client.post(url_of(name, world), {"how": "password", "what": "password"})
        is_page = response.get("Content-Type", "").startswith("text/html")
        if response.status_code == 200 and is_page and name not in FRAGMENTS:
            seen += 1
            wrong += [f"{name}: {f}" for f in Markup(response.content.decode()).faults]
    assert seen > 20
    assert not wrong, "\n".join(wrong)


def test_errors_have_pages_of_their_own(world: World, cast: Cast) -> None:
    client = client_of(cast, "member", enforce_csrf_checks=True)
    forged = client.post(reverse("my-absences"), {"kind": "out"})
    many = {str(n): "x" for n in range(settings.DATA_UPLOAD_MAX_NUMBER_FIELDS + 1)}
    staff = client_of(cast, "staff")
    answers = [
        (403, client.get(reverse("people"))),
        (403, forged),
        (404, client.get("/no/such/page/")),
        (404, staff.get(reverse("member", args=[10**9]))),
        (405, staff.get(reverse("take-back"))),
        (400, staff.post(reverse("event-new"), many)),
    ]
    for status, response in answers:
        page = response.content.decode()
        assert response.status_code == status
        assert not Markup(page).faults
        assert not list(headers_wrong(response))
        assert 'aria-label="Areas">' in page and "Go to the start page" in page, status
        assert "Traceback" not in page
    visitor = client_of(cast, "visitor").get("/no/such/page/").content.decode()
    assert "Go to the start page" in visitor and 'aria-label="Areas">' not in visitor


def test_a_broken_server_says_so_without_asking_anything(
    django_assert_num_queries: Any,
) -> None:
    assert get_template("500.html")
    with django_assert_num_queries(0):
        page = render_to_string("500.html")
    assert not Markup(page).faults and 'href="/"' in page


@override_settings(DEBUG=False)
def test_an_error_page_tells_nothing_of_the_inside(
    world: World, cast: Cast, monkeypatch: pytest.MonkeyPatch
) -> None:
    def broken(*args: Any, **kwargs: Any) -> None:
        raise RuntimeError("the inside")

    monkeypatch.setattr("roster.people.queries.active_members", broken)
    client = client_of(cast, "equipment", raise_request_exception=False)
    response = client.get(reverse("sizes"))
    assert response.status_code == 500
    assert "inside" not in response.content.decode()


def test_no_post_without_the_token(world: World, cast: Cast) -> None:
    client = client_of(cast, "director", enforce_csrf_checks=True)
    wrong = []
    for name in TABLE:
        before = AuditEntry.objects.count()
        response = client.post(url_of(name, world), {"how": "link", "email": "a@b.example"})
        # The browser has the cookie of a page by then; what the API reads is no form anyway.
        is_program = TABLE[name].visitor == "401"
        if response.status_code not in ((403, 405, 415) if is_program else (403,)):
            wrong.append(f"{name}: {response.status_code}")
        if AuditEntry.objects.count() != before:
            wrong.append(f"{name} wrote")
    assert not wrong, "\n".join(wrong)
    assert client.get(reverse("me")).status_code == 200, "still signed in"


def test_cookies_are_kept_from_scripts_and_other_sites(cast: Cast) -> None:
    set_password(cast.staff)
    cookie = entered(cast.staff.email, PASSWORD).cookies[settings.SESSION_COOKIE_NAME]
    assert cookie["httponly"] and cookie["samesite"] == "Lax"
