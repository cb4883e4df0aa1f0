"""Passwords and sessions: nothing tells who has an account, failures are counted."""

from __future__ import annotations

import unicodedata

import pytest
from django.conf import settings
from django.core import mail
from django.test import Client
from django.urls import reverse

from bandops.lib.accounts import entering, links, tries
from tests.architecture.signing_in import (
    PASSWORD,
    ask_for_link,
    entered,
    path_of,
    set_password,
    without_tokens,
)
from tests.architecture.world import client_of, outcome
from tests.factories import Cast

pytestmark = pytest.mark.django_db


def test_the_answer_does_not_tell_who_has_an_account(cast: Cast) -> None:
    set_password(cast.staff)
    cast.other.is_active = False
    cast.other.save()
    addresses = [cast.staff.email, cast.member.email, cast.other.email, "nobody@else.example"]
    texts = {without_tokens(entered(a, "a wrong password of length"), a) for a in addresses}
    assert len(texts) == 1
    assert "do not match" in texts.pop()


def test_asking_for_a_link_does_not_tell_who_has_an_account(cast: Cast) -> None:
    texts = set()
    for address in (cast.staff.email, cast.staff.email.upper(), "nobody@else.example"):
        texts.add(without_tokens(ask_for_link(address), address))
    assert len(texts) == 1
    assert [m.to for m in mail.outbox] == [[cast.staff.email]] * 2


def test_failures_are_counted_and_end_passwords_but_not_links(
    cast: Cast, monkeypatch: pytest.MonkeyPatch
) -> None:
    set_password(cast.staff)
    monkeypatch.setattr(tries, "wait_seconds", lambda email, origin: 0)
    for count in range(1, entering.MAX_FAILURES + 1):
        assert entered(cast.staff.email, "a wrong password of length").status_code == 200
        cast.staff.refresh_from_db()
        assert cast.staff.failed_sign_ins == count
    assert entered(cast.staff.email, PASSWORD).status_code == 200, "the right one no longer helps"
    client = Client()
    client.post(path_of(links.link_for(cast.staff, links.SIGN_IN)))
    assert client.get(reverse("me")).status_code == 200
    assert entered(cast.staff.email, PASSWORD).status_code == 302, "the link begins anew"


def test_signing_in_forgets_failures_and_changes_the_session(cast: Cast) -> None:
    set_password(cast.staff)
    entered(cast.staff.email, "a wrong password of length")
    client = Client()
    client.get(reverse("sign-in"))
    client.session["planted"] = "x"
    data = {"how": "password", "address": cast.staff.email, "password": PASSWORD}
    client.cookies[settings.SESSION_COOKIE_NAME] = "planted" * 4
    assert client.post(reverse("sign-in"), data).status_code == 302
    assert client.cookies[settings.SESSION_COOKIE_NAME].value != "planted" * 4
    cast.staff.refresh_from_db()
    assert cast.staff.failed_sign_ins == 0


def test_who_set_no_password_cannot_enter_by_one(cast: Cast) -> None:
    assert entered(cast.member.email, "").status_code == 200
    assert entered(cast.member.email, "!").status_code == 200
    assert entered(cast.member.email, cast.member.password).status_code == 200


def test_a_new_password_ends_other_sessions(cast: Cast) -> None:
    here, there = client_of(cast, "member"), client_of(cast, "member")
    data = {"what": "password", "new_password1": PASSWORD, "new_password2": PASSWORD}
    assert here.post(reverse("me"), data).status_code == 302
    assert here.get(reverse("me")).status_code == 200
    assert outcome(there.get(reverse("me"))) == "sign-in"


@pytest.mark.source("NIST SP 800-63B-4, 3.1.1.2: at least 15 characters, a block list")
@pytest.mark.parametrize(
    "password",
    [
        "fourteen chars",
        "123456789987654321",
        "aaaaaaaaaaaaaaa",
        "passwordpassword",
        "password1234567",
        "iloveyouiloveyou",
        "qwertyuiopasdfghjkl",
        "abcdefghijklmnop",
        "marchingband2026",
        "bandopsbandops1",
        " " * 15,
        "Quillwater2026!!",
        "Cai Ørnberg 2026",
        "x" * 257,
    ],
)
def test_weak_passwords_are_refused(cast: Cast, password: str) -> None:
    client = client_of(cast, "member")
    data = {"what": "password", "new_password1": password, "new_password2": password}
    assert client.post(reverse("me"), data).status_code == 200, "the form comes back"
    cast.member.refresh_from_db()
    assert not cast.member.has_usable_password()


@pytest.mark.parametrize(
    "password", ["  seven quiet cornets at dawn ", "sieben ruhige H\u00f6rner im Tal"]
)
def test_a_password_is_taken_as_it_was_set(cast: Cast, password: str) -> None:
    """Outer spaces count, and the same letters count the same however a keyboard makes them."""
    client = client_of(cast, "member")
    data = {"what": "password", "new_password1": password, "new_password2": password}
    assert client.post(reverse("me"), data).status_code == 302
    for typed in (password, unicodedata.normalize("NFD", password)):
        assert entered(cast.member.email, typed).status_code == 302
    assert entered(cast.member.email, password.strip() + "x").status_code == 200


def test_signing_out_takes_a_post_and_ends_the_session(cast: Cast) -> None:
    client = client_of(cast, "member")
    client.get(reverse("sign-out"))
    assert client.get(reverse("me")).status_code == 200, "a link cannot sign anybody out"
    response = client.post(reverse("sign-out"))
    assert response["Clear-Site-Data"] == '"cache"', "what waits for the network is not lost"
    assert outcome(client.get(reverse("me"))) == "sign-in"
