"""Whoever no longer belongs sees nothing."""

from __future__ import annotations

from collections.abc import Callable, Iterator

import pytest
from django.test import Client
from django.urls import reverse

from drill.absences.models import Absence
from roster.people.enums import MemberStatus
from roster.people.models import Member, RoleGrant
from roster.ranks.models import Holding
from tests.architecture.access_table import TABLE
from tests.architecture.world import (
    World,
    client_of,
    outcome,
    undone,
    url_of,
)
from tests.factories import Cast

pytestmark = [pytest.mark.django_db, pytest.mark.walk]


def _still_open(client: Client, world: World) -> Iterator[str]:
    """Addresses of the season that still open; own account and public pages left out."""
    open_to_all = {n for n, row in TABLE.items() if "outsider" in row.allowed.split()}
    for name, row in TABLE.items():
        if name in open_to_all:
            continue
        method = "POST" if row.get == "405 for all" else "GET"
        with undone():
            got = outcome(client.generic(method, url_of(name, world)))
        if got not in ("401", "403", "sign-in", "405"):
            yield f"{name}: {got}"


def _leave(world: World, cast: Cast) -> None:
    Member.objects.filter(person__user=cast.leader).update(status=MemberStatus.LEFT)


def _lose_roles(world: World, cast: Cast) -> None:
    RoleGrant.objects.filter(user=cast.director).delete()


def _roles_of_last_year(world: World, cast: Cast) -> None:
    former = world.band.season.__class__.objects.get(name="2098")
    RoleGrant.objects.filter(user=cast.director).update(season=former)


def _member_of_last_year(world: World, cast: Cast) -> None:
    former = world.band.season.__class__.objects.get(name="2098")
    Member.objects.filter(person__user=cast.leader).update(season=former)


Change = Callable[[World, Cast], None]


@pytest.mark.parametrize(
    ("role", "change"),
    [
        ("leader", _leave),
        ("director", _lose_roles),
        ("director", _roles_of_last_year),
        ("leader", _member_of_last_year),
    ],
)
def test_whoever_no_longer_belongs_sees_nothing(
    worlds: tuple[World, World, Cast], role: str, change: Change
) -> None:
    world, _, cast = worlds
    client = client_of(cast, role)
    assert any(_still_open(client, world)), "the account has pages before"
    change(world, cast)
    assert not list(_still_open(client, world))
    assert client.get(reverse("me")).status_code == 200, "the own account stays"


def test_a_deactivated_account_is_out_at_once(worlds: tuple[World, World, Cast]) -> None:
    world, _, cast = worlds
    client = client_of(cast, "director")
    cast.director.is_active = False
    cast.director.save()
    assert not list(_still_open(client, world))
    assert outcome(client.get(reverse("me"))) == "sign-in"


def test_former_holders_keep_nothing(worlds: tuple[World, World, Cast]) -> None:
    """Whoever moved to another rank is no longer reported or called by the old leader."""
    world, _, cast = worlds
    world.member.person.share_contact = True
    world.member.person.save()
    Member.objects.filter(pk=world.member.pk).update(phone="555-0142")
    client = client_of(cast, "leader")
    assert "555-0142" in client.get(reverse("my-rank")).content.decode()
    Holding.objects.filter(member=world.member).update(ends="2099-09-01")
    assert "555-0142" not in client.get(reverse("my-rank")).content.decode()
    data = {"kind": "out", "event": world.event.pk, "member": world.member.pk}
    before = Absence.objects.count()
    client.post(reverse("rank-report"), data)
    assert Absence.objects.count() == before
