"""Guessing is slow, a stranger locks nobody out, and a stadium behind one address signs in."""

from __future__ import annotations

import threading
from typing import Any

import pytest
from django.contrib.auth.hashers import get_hasher
from django.db import connection
from django.test import Client
from django.urls import reverse

from bandops.lib.accounts import entering, tries
from bandops.lib.accounts.models import User
from bandops.lib.accounts.tries import NETWORK_FAILURES, Origin
from bandops.lib.audit.models import AuditEntry
from tests.answers import Response
from tests.architecture.signing_in import PASSWORD, entered, path_of, set_password
from tests.factories import Cast

pytestmark = pytest.mark.django_db
WRONG = "a wrong password of length"


def try_at(client: Client, address: str, password: str) -> Response:
    data = {"how": "password", "address": address, "password": password}
    return client.post(reverse("sign-in"), data)


def test_after_five_failures_each_try_waits_longer(cast: Cast, monkeypatch: Any) -> None:
    set_password(cast.staff)
    now = [1_000_000.0]
    monkeypatch.setattr("bandops.lib.accounts.tries.time.time", lambda: now[0])
    for _ in range(tries.FREE_TRIES):
        assert "do not match" in entered(cast.staff.email, WRONG).content.decode()
    waits = []
    for _ in range(12):
        told = entered(cast.staff.email, PASSWORD).content.decode()
        assert "Too many tries" in told, "not even the right one is looked at"
        waits.append(tries.wait_seconds(cast.staff.email, Origin("127.0.0.1", "")))
        now[0] += waits[-1] + 1
        entered(cast.staff.email, WRONG)
    assert waits[:4] == [1, 2, 4, 8] and waits[-1] == tries.LONGEST_WAIT
    now[0] += tries.LONGEST_WAIT + 1
    assert entered(cast.staff.email, PASSWORD).status_code == 302


def test_an_address_without_an_account_is_held_up_alike(cast: Cast, monkeypatch: Any) -> None:
    monkeypatch.setattr("bandops.lib.accounts.tries.time.time", lambda: 1_000_000.0)
    told = set()
    for address in (cast.staff.email, "nobody@else.example"):
        for _ in range(tries.FREE_TRIES + 1):
            page = entered(address, WRONG).content.decode()
        told.add("Too many tries" in page)
    assert told == {True}


def test_a_stranger_does_not_lock_out_whoever_has_signed_in_from_here(
    cast: Cast, monkeypatch: Any
) -> None:
    monkeypatch.setattr("bandops.lib.accounts.tries.time.time", lambda: 1_000_000.0)
    set_password(cast.staff)
    mine = Client()
    assert try_at(mine, cast.staff.email, PASSWORD).status_code == 302
    mine.post(reverse("sign-out"))
    for _ in range(entering.MAX_FAILURES + 5):
        entered(cast.staff.email, WRONG)
    User.objects.filter(pk=cast.staff.pk).update(failed_sign_ins=entering.MAX_FAILURES)
    assert "Too many tries" in entered(cast.staff.email, PASSWORD).content.decode()
    assert try_at(mine, cast.staff.email, PASSWORD).status_code == 302


def test_a_device_known_for_one_account_is_a_stranger_to_others(
    cast: Cast, monkeypatch: Any
) -> None:
    monkeypatch.setattr("bandops.lib.accounts.tries.time.time", lambda: 1_000_000.0)
    set_password(cast.staff)
    set_password(cast.director)
    mine = Client()
    try_at(mine, cast.staff.email, PASSWORD)
    mine.post(reverse("sign-out"))
    for _ in range(tries.FREE_TRIES):
        entered(cast.director.email, WRONG)
    assert "Too many tries" in try_at(mine, cast.director.email, PASSWORD).content.decode()


@pytest.mark.walk
def test_a_stadium_behind_one_address_signs_in(cast: Cast) -> None:
    """400 people of one network, one in four mistyping once: nobody waits."""
    codes = set()
    for number in range(400):
        user = User.objects.create_user(f"p{number}@band.example", password=PASSWORD)
        if number % 4 == 0:
            assert "do not match" in entered(user.email, WRONG).content.decode()
        codes.add(entered(user.email, PASSWORD).status_code)
    assert codes == {302}


def test_hundreds_of_failures_hold_up_a_network_but_no_link(cast: Cast) -> None:
    set_password(cast.staff)
    for number in range(NETWORK_FAILURES):
        tries.note_failure(f"p{number}@band.example", Origin("127.0.0.1", ""))
    assert "Too many tries" in entered(cast.staff.email, PASSWORD).content.decode()
    from bandops.lib.accounts import links

    client = Client()
    assert client.post(path_of(links.link_for(cast.staff, links.SIGN_IN))).status_code == 302


def test_without_its_cache_the_site_lets_people_in(cast: Cast, settings: Any) -> None:
    set_password(cast.staff)
    settings.CACHES = {
        "default": {
            "BACKEND": "django.core.cache.backends.redis.RedisCache",
            "LOCATION": "redis://127.0.0.1:1/0",
        }
    }
    assert entered(cast.staff.email, WRONG).status_code == 200
    assert entered(cast.staff.email, PASSWORD).status_code == 302
    data = {"how": "link", "email": cast.staff.email}
    assert Client().post(reverse("sign-in"), data).status_code == 200


def test_each_check_costs_one_hash(cast: Cast, monkeypatch: Any) -> None:
    """Not by a clock: what is computed is counted, for those with and without an account."""
    set_password(cast.staff)
    counted: list[str] = []
    hasher = type(get_hasher())
    encode = hasher.encode

    def counting(self: Any, *args: Any, **options: Any) -> str:
        counted.append("x")
        return str(encode(self, *args, **options))

    monkeypatch.setattr(hasher, "encode", counting)
    costs = set()
    User.objects.filter(pk=cast.other.pk).update(failed_sign_ins=entering.MAX_FAILURES)
    for address in (cast.staff.email, cast.other.email, "nobody@else.example"):
        counted.clear()
        entered(address, WRONG)
        costs.add(len(counted))
    assert costs == {1}


@pytest.mark.django_db(transaction=True)
@pytest.mark.postgres("two writers of one row")
def test_failures_at_the_same_time_all_count(cast: Cast) -> None:
    set_password(cast.staff)

    def fail() -> None:
        entering._count(cast.staff)
        connection.close()

    threads = [threading.Thread(target=fail) for _ in range(4)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    cast.staff.refresh_from_db()
    assert cast.staff.failed_sign_ins == 4


def test_failures_are_not_signed_by_the_victim_and_end(cast: Cast) -> None:
    set_password(cast.staff)
    User.objects.filter(pk=cast.staff.pk).update(failed_sign_ins=entering.MAX_FAILURES - 1)
    for _ in range(3):
        entered(cast.staff.email, WRONG)
    entries = AuditEntry.objects.filter(action="fail to sign in")
    assert [entry.actor_id for entry in entries] == [None], "a script fills no disk"


@pytest.mark.source("RFC 4291, 2.5.4: a /64 is one subnet")
@pytest.mark.parametrize(
    ("address", "network"),
    [
        ("203.0.113.7", "203.0.113.7"),
        ("2001:db8:1:2:3:4:5:6", "2001:db8:1:2::/64"),
        ("2001:db8:1:2::9", "2001:db8:1:2::/64"),
        ("unknown", ""),
        ("", ""),
    ],
)
def test_networks(address: str, network: str) -> None:
    assert tries.network_of(address) == network


def test_only_our_proxy_says_whose_request_it_is(rf: Any, settings: Any) -> None:
    claimed = rf.get("/", headers={"X-Forwarded-For": "198.51.100.1, 203.0.113.7"})
    assert tries.address_of(claimed) == "127.0.0.1"
    settings.BEHIND_PROXY = True
    assert tries.address_of(claimed) == "203.0.113.7"
