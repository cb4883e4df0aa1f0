"""Links by mail: once, for a while, for what they were made for."""

from __future__ import annotations

import datetime
import re
from typing import Any

import pytest
from django.conf import settings
from django.core import mail
from django.test import Client
from django.urls import reverse

from bandops.lib.accounts import links
from bandops.lib.accounts.models import User
from tests.architecture.signing_in import (
    PASSWORD,
    ask_for_link,
    entered,
    mailed_link,
    path_of,
    set_password,
    without_tokens,
)
from tests.factories import Cast

pytestmark = pytest.mark.django_db


@pytest.fixture
def later(monkeypatch: pytest.MonkeyPatch) -> Any:
    """Moves the clock that links are dated with."""
    import time

    now = time.time()

    def move(**ago: float) -> None:
        seconds = datetime.timedelta(**ago).total_seconds()
        monkeypatch.setattr("time.time", lambda: now + seconds)

    return move


def test_a_link_works_once_and_a_visit_does_not_use_it_up(cast: Cast) -> None:
    path = mailed_link(cast.member.email)
    for _ in range(3):
        response = Client().get(path)
        assert response.status_code == 200
        assert settings.SESSION_COOKIE_NAME not in response.cookies
    client = Client()
    assert client.post(path).status_code == 302
    assert client.get(reverse("card")).status_code == 200
    assert Client().post(path).status_code == 410, "used up"


def test_a_visit_does_not_tell_whether_a_link_is_good(cast: Cast) -> None:
    good = mailed_link(cast.member.email)
    texts = {without_tokens(Client().get(path), "") for path in (good, good[:-4] + "xyz/")}
    assert len(texts) == 1


def test_a_sign_in_link_ends_soon(cast: Cast, later: Any) -> None:
    path = path_of(links.link_for(cast.member, links.SIGN_IN))
    later(minutes=21)
    assert Client().post(path).status_code == 410


def test_an_invitation_lasts_two_weeks_and_works_once(cast: Cast, later: Any) -> None:
    links.send_invitation(cast.member, "Quillwater")
    found = re.search(r"https?://\S+", str(mail.outbox[-1].body))
    assert found
    path = path_of(found[0])
    later(days=13)
    assert Client().get(path).status_code == 200
    assert Client().post(path).status_code == 302
    assert Client().post(path).status_code == 410


def test_an_old_invitation_is_void(cast: Cast, later: Any) -> None:
    path = path_of(links.link_for(cast.member, links.INVITATION))
    later(days=15)
    assert Client().post(path).status_code == 410


def test_a_link_is_good_for_what_it_was_made_for_only(cast: Cast) -> None:
    path = path_of(links.link_for(cast.member, links.INVITATION))
    assert Client().post(path.replace("invitation", "sign-in")).status_code == 410
    path = path_of(links.link_for(cast.member, links.SIGN_IN))
    assert Client().post(path.replace("sign-in", "invitation")).status_code == 410
    assert Client().post(path.replace("sign-in", "other")).status_code == 410


def test_a_new_password_voids_links(cast: Cast) -> None:
    path = path_of(links.link_for(cast.member, links.SIGN_IN))
    set_password(cast.member)
    assert Client().post(path).status_code == 410


def test_a_deactivated_account_is_let_in_by_nothing(cast: Cast) -> None:
    path = path_of(links.link_for(cast.member, links.SIGN_IN))
    set_password(cast.staff)
    for user in (cast.member, cast.staff):
        User.objects.filter(pk=user.pk).update(is_active=False)
    assert Client().post(path).status_code == 410
    assert entered(cast.staff.email, PASSWORD).status_code == 200
    ask_for_link(cast.staff.email)
    assert not mail.outbox


def test_links_name_our_own_host_whatever_the_request_says(cast: Cast) -> None:
    ask_for_link(cast.member.email, Host="elsewhere.example")
    assert "elsewhere.example/link" not in str(mail.outbox[-1].body)
    assert settings.SITE_URL in str(mail.outbox[-1].body)
