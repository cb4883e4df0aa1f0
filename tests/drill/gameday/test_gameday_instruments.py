"""Somebody steps in on another instrument than usual: whoever decides it and they are told."""

from __future__ import annotations

from typing import Any

import pytest
from django.test import Client
from django.urls import reverse

from roster.people.models import Qualification
from tests.answers import text
from tests.drill.gameday.gameday_desk import ask, out, wish
from tests.factories import Band, Cast

__all__ = ["out"]

pytestmark = pytest.mark.django_db
HEAVIER = "Another instrument than usual may be heavier"


def _usually_on_clarinet(band: Band, name: str) -> None:
    member = band.members[name]
    member.qualifications.update(main=False)
    Qualification.objects.create(member=member, part=band.parts["clarinet"], main=True)


def _pages(band: Band, client: Client) -> list[str]:
    """The desk's and the lineup's page of a trumpet spot."""
    desk = reverse("desk-out", args=[band.event.pk, band.members["Cai Ørnberg"].pk])
    seat = reverse("seat", args=[band.event.pk, band.halftime.pk, band.spots["1-3"].pk])
    return [text(client.get(url)) for url in (desk, seat)]


def test_another_instrument_is_named_and_cautioned(out: Band, cast: Cast, signed_in: Any) -> None:
    staff, mine = signed_in(cast.staff), signed_in(cast.member)
    for page in _pages(out, staff):
        assert "usually on" not in page and HEAVIER not in page
    _usually_on_clarinet(out, "Jon Pell")
    for page in _pages(out, staff):
        assert page.count("usually on Clarinet") == 1 and page.count(HEAVIER) == 1
    jon = out.members["Jon Pell"]
    jon.person.user = cast.member
    type(jon.person).objects.filter(user=cast.member).update(user=None)
    jon.person.save()
    ask(out, cast, wish(out, "Cai Ørnberg", "Jon Pell"))
    card = text(mine.get(reverse("card-of", args=[out.event.pk])))
    assert card.count(HEAVIER) == 2, "in both segments they march"
    jon.qualifications.update(main=False)
    assert HEAVIER not in text(mine.get(reverse("card-of", args=[out.event.pk])))
