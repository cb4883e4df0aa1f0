"""How long sign-ins last, what ends them, and what asks for a fresh one."""

from __future__ import annotations

import datetime
from typing import Any

import pytest
import time_machine
from django.conf import settings
from django.contrib.sessions.models import Session
from django.core.management import call_command
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from bandops.lib.accounts import links
from bandops.lib.accounts.models import User
from drill.calendars.models import CalendarFeed
from tests.architecture.signing_in import PASSWORD, entered, path_of, set_password
from tests.architecture.world import client_of, outcome
from tests.factories import Cast

pytestmark = pytest.mark.django_db
HOUR = datetime.timedelta(hours=1)


@pytest.fixture(autouse=True)
def _sign_ins_last() -> None:
    """Here they end."""


def still_in(client: Client) -> bool:
    return outcome(client.get(reverse("me"))) == "ok"


@pytest.mark.parametrize(
    ("role", "steps", "lasts"),
    [
        ("director", [11, 11, 11], True),
        ("director", [13], False),
        ("evaluator", [13], False),
        ("director", [11] * 16, False),
        ("member", [24 * 20], True),
        ("member", [24 * 31], False),
    ],
)
def test_how_long_a_sign_in_lasts(cast: Cast, role: str, steps: list[int], lasts: bool) -> None:
    now = timezone.now()
    with time_machine.travel(now, tick=False):
        client = client_of(cast, role)
    ended = False
    for step in steps:
        now += step * HOUR
        with time_machine.travel(now, tick=False):
            ended = ended or not still_in(client)
    assert ended is not lasts


def test_a_borrowed_device_forgets_and_keeps_no_page(cast: Cast) -> None:
    set_password(cast.member)
    mine, borrowed = Client(), Client()
    data = {"how": "password", "address": cast.member.email, "password": PASSWORD}
    mine.post(reverse("sign-in"), data)
    borrowed.post(reverse("sign-in"), data | {"not_mine": "on"})
    assert not borrowed.cookies[settings.SESSION_COOKIE_NAME]["max-age"], "until it closes"
    assert "known" in mine.cookies and "known" not in borrowed.cookies
    card = reverse("card")
    assert "X-Offline-Copy" in mine.get(card) and "X-Offline-Copy" not in borrowed.get(card)


def test_signing_out_everywhere_leaves_only_here(cast: Cast) -> None:
    here, there = client_of(cast, "member"), client_of(cast, "member")
    CalendarFeed.objects.create(user=cast.member)
    assert here.post(reverse("me"), {"what": "sign-out"}).status_code == 302
    assert still_in(here) and not still_in(there)
    assert not CalendarFeed.objects.filter(revoked_at=None).exists()


def test_the_director_ends_the_sign_in_of_a_lost_phone(cast: Cast) -> None:
    lost, director = client_of(cast, "leader"), client_of(cast, "director")
    url = reverse("account", args=[cast.leader.pk])
    assert director.post(url, {"what": "sign-out"}).status_code == 302
    assert not still_in(lost)


def test_a_wrong_address_is_corrected_and_the_stranger_is_out(cast: Cast, mailoutbox: Any) -> None:
    stranger, director = client_of(cast, "member"), client_of(cast, "director")
    old = cast.member.email
    link = path_of(links.link_for(cast.member, links.INVITATION))
    url = reverse("account", args=[cast.member.pk])
    new = {"what": "address", "email": "Right@Band.example"}
    assert director.post(url, new).status_code == 302
    cast.member.refresh_from_db()
    assert cast.member.email == "right@band.example"
    assert not still_in(stranger)
    assert Client().post(link).status_code == 410, "what went to the old address is void"
    assert mailoutbox[-1].to == [old]
    taken = director.post(url, {"what": "address", "email": cast.staff.email})
    assert "Another account has this address" in taken.content.decode()


def test_a_closed_account_is_out_until_it_is_opened(cast: Cast) -> None:
    set_password(cast.staff)
    client, director = client_of(cast, "staff"), client_of(cast, "director")
    url = reverse("account", args=[cast.staff.pk])
    director.post(url, {"what": "close"})
    assert not still_in(client)
    assert entered(cast.staff.email, PASSWORD).status_code == 200
    director.post(url, {"what": "open"})
    assert entered(cast.staff.email, PASSWORD).status_code == 302
    assert not still_in(client), "the session from before stays ended"


def test_nobody_closes_their_own_or_the_last_director(cast: Cast) -> None:
    director = client_of(cast, "director")
    own = reverse("account", args=[cast.director.pk])
    said = director.post(own, {"what": "close"}, follow=True).content.decode()
    assert "your own account" in said
    cast.director.refresh_from_db()
    assert cast.director.is_active


def test_giving_rights_asks_for_a_fresh_sign_in(cast: Cast) -> None:
    client = client_of(cast, "director")
    data = {"email": "new@staff.example", "name": "New", "role": "staff"}
    with time_machine.travel(timezone.now() + HOUR, tick=False):
        answer = client.post(reverse("roles"), data)
        assert answer.status_code == 302 and answer["Location"].startswith(reverse("sign-in"))
        assert not User.objects.filter(email="new@staff.example").exists()
        assert "sign in again" in client.get(answer["Location"]).content.decode()
    assert client_of(cast, "director").post(reverse("roles"), data).status_code == 302
    assert User.objects.filter(email="new@staff.example").exists()


def test_one_sets_a_new_password_only_with_the_present_one(cast: Cast, mailoutbox: Any) -> None:
    set_password(cast.member)
    client = client_of(cast, "member")
    new = "nine grey tubas beside the lake"
    data = {"what": "password", "new_password1": new, "new_password2": new}
    assert client.post(reverse("me"), data).status_code == 200
    wrong = client.post(reverse("me"), data | {"present": "not it at all, no"})
    assert "not your present password" in wrong.content.decode()
    assert client.post(reverse("me"), data | {"present": PASSWORD}).status_code == 302
    assert entered(cast.member.email, new).status_code == 302
    assert mailoutbox[-1].subject == "Your password was changed"


def test_a_first_password_needs_a_fresh_sign_in(cast: Cast) -> None:
    client = client_of(cast, "member")
    data = {"what": "password", "new_password1": PASSWORD, "new_password2": PASSWORD}
    with time_machine.travel(timezone.now() + HOUR, tick=False):
        client.post(reverse("me"), data)
    cast.member.refresh_from_db()
    assert not cast.member.has_usable_password()


def test_ended_sessions_are_thrown_away(cast: Cast) -> None:
    client_of(cast, "member")
    Session.objects.update(expire_date=timezone.now() - HOUR)
    client_of(cast, "staff")
    call_command("sweep_jobs")
    assert Session.objects.count() == 1
