"""Candidates: numbers that tell nothing, a key whose opening is noted, check-in, recusal."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from bandops.lib.accounts.models import User
from bandops.lib.audit.models import AuditEntry
from bandops.lib.errors import Refused
from roster.people.models import Person
from roster.tryouts.enums import TryoutState
from roster.tryouts.models import Candidate, ItemReady, Panelist, RetiredNumber
from roster.tryouts.services import candidates as services
from tests.factories import Band, Cast, TryoutWorld

pytestmark = pytest.mark.django_db
SignedIn = Callable[[User | None], Client]


def test_numbers_are_given_once_and_by_lot(world: TryoutWorld, cast: Cast) -> None:
    Candidate.objects.update(number=None)
    assert services.give_numbers(actor=cast.staff, tryout=world.tryout, start=300) == 12
    numbers = Candidate.objects.order_by("number").values_list("number", flat=True)
    assert list(numbers) == list(range(300, 312))
    assert services.give_numbers(actor=cast.staff, tryout=world.tryout) == 0


def test_a_replaced_number_is_never_given_again(world: TryoutWorld, cast: Cast) -> None:
    who = world.candidates[0]
    for _ in range(3):
        services.replace_number(actor=cast.staff, candidate=who)
    old = set(RetiredNumber.objects.values_list("number", flat=True))
    now = set(Candidate.objects.values_list("number", flat=True))
    assert len(old) == 3 and 101 in old and not old & now


def test_check_in_gives_a_number_and_says_what_is_missing(
    world: TryoutWorld, cast: Cast, signed_in: SignedIn
) -> None:
    who = world.candidates[0]
    Candidate.objects.filter(pk=who.pk).update(number=None)
    url = reverse("check-in-note", args=[world.tryout.pk, who.pk])
    page = signed_in(cast.staff).post(url, follow=True).content.decode()
    who.refresh_from_db()
    assert who.checked_in_at is not None and f"<b>{who.number}</b>" in page
    assert "physical form" in page and "nobody marches without it" in page
    looked = AuditEntry.objects.filter(op="view", row_id=str(who.pk))
    assert looked.filter(action="look at candidate numbers").exists()


def test_what_they_have_is_kept_and_never_why_not(world: TryoutWorld, cast: Cast) -> None:
    who, item = world.candidates[0], world.items[0]
    services.note_ready(actor=cast.staff, candidate=who, items=[item], shown=[item.pk])
    assert not services.missing_items([who], world.tryout)
    services.note_ready(actor=cast.staff, candidate=who, items=[], shown=[item.pk])
    assert services.missing_items([who], world.tryout) == {who.pk: [item]}
    assert {f.name for f in ItemReady._meta.fields} == {"id", "candidate", "item", "noted_by"}


def test_opening_the_key_is_noted(world: TryoutWorld, cast: Cast, signed_in: SignedIn) -> None:
    client, url = signed_in(cast.staff), reverse("candidate-key", args=[world.tryout.pk])
    assert "Mara Quist" not in client.get(url).content.decode()
    assert not AuditEntry.objects.filter(op="view").exists()
    assert "Mara Quist" in client.post(url).content.decode()
    assert AuditEntry.objects.filter(op="view", action="look at candidate numbers").exists()


def test_who_evaluates_does_not_open_the_key_before_the_decision(
    world: TryoutWorld, cast: Cast, signed_in: SignedIn
) -> None:
    Panelist.objects.create(tryout=world.tryout, user=cast.staff, code="Z")
    client, url = signed_in(cast.staff), reverse("candidate-key", args=[world.tryout.pk])
    assert "Mara Quist" not in client.post(url).content.decode()
    assert "Mara Quist" in signed_in(cast.director).post(url).content.decode()
    world.tryout.state = TryoutState.DECIDED
    world.tryout.save()
    assert "Mara Quist" in client.post(url).content.decode()


def test_somebody_who_may_be_known_is_asked_about(world: TryoutWorld, cast: Cast) -> None:
    twin = Person(legal_name="Mara Quist", email="mara.quist@else.example")
    asked = {
        "actor": cast.staff,
        "tryout": world.tryout,
        "person": twin,
        "values": {},
        "wishes": [world.band.parts["trumpet"]],
    }
    with pytest.raises(Refused, match="somebody already here"):
        services.add_candidate(**asked)  # type: ignore[arg-type]
    made = services.add_candidate(**asked, namesake_is_meant=True)  # type: ignore[arg-type]
    assert made.person != world.candidates[1].person


def test_who_withdrew_is_not_checked_in(world: TryoutWorld, cast: Cast) -> None:
    who = world.candidates[0]
    services.withdraw(actor=cast.staff, candidate=who, at=timezone.now())
    with pytest.raises(Refused, match="withdrew"):
        services.check_in(actor=cast.staff, candidate=who, at=timezone.now())


def test_the_list_is_searched_and_narrowed(
    world: TryoutWorld, cast: Cast, signed_in: SignedIn, band: Band
) -> None:
    client, url = signed_in(cast.staff), reverse("candidates", args=[world.tryout.pk])
    services.check_in(actor=cast.staff, candidate=world.candidates[1], at=timezone.now())
    part = band.parts["clarinet"].pk
    for query, there in (
        ("q=quist", {"Mara Quist"}),
        ("state=here", {"Mara Quist"}),
        (f"part={part}&state=here", {"Mara Quist"}),
        ("state=withdrawn", set()),
    ):
        page = client.get(f"{url}?{query}").content.decode()
        found = {c.person.name for c in world.candidates if c.person.name in page}
        assert found == there, query
