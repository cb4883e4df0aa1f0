"""Spots that staff keep closed to challenges: through which day, and what a new word replaces."""

from __future__ import annotations

import datetime
from collections.abc import Iterator
from zoneinfo import ZoneInfo

import pytest
import time_machine
from django.test import Client
from django.urls import reverse

from drill.challenges.models import ProtectedSpot
from tests.architecture.world import client_of
from tests.factories import Band, Cast

pytestmark = [pytest.mark.django_db, pytest.mark.postgres("days are compared with NULL")]

PAGE = "protected-spots"


@pytest.fixture(autouse=True)
def clock() -> Iterator[None]:
    """Late in the evening of the 8th where the band is; the 9th in UTC."""
    now = datetime.datetime(2099, 10, 8, 22, tzinfo=ZoneInfo("America/Chicago"))
    with time_machine.travel(now, tick=False):
        yield


@pytest.fixture
def staff(cast: Cast) -> Client:
    return client_of(cast, "staff")


def protect(staff: Client, band: Band, until: str) -> str:
    told = {"spot": band.spots["1-1"].pk, "until": until}
    return staff.post(reverse(PAGE), told, follow=True).content.decode()


def test_a_day_that_has_passed_protects_nothing(staff: Client, band: Band) -> None:
    for day, words in (("1999-01-01", "Jan 1, 1999"), ("2099-10-07", "Oct 7, 2099")):
        assert f"{words} has passed." in protect(staff, band, day)
    assert "between 1970 and 2199" in protect(staff, band, "0001-01-01")
    assert not ProtectedSpot.objects.exists()
    assert "1-1 is protected through Oct 8, 2099." in protect(staff, band, "2099-10-08")


def test_what_a_new_word_replaces_is_said(staff: Client, band: Band) -> None:
    assert "1-1 is protected through Oct 12, 2099." in protect(staff, band, "2099-10-12")
    changed = "1-1 was protected through Oct 12, 2099, now until lifted."
    assert changed in protect(staff, band, "")
    assert "1-1 is protected until lifted." in protect(staff, band, ""), "nothing changed"
    changed = "1-1 was protected until lifted, now through Oct 13, 2099."
    assert changed in protect(staff, band, "2099-10-13")
    assert ProtectedSpot.objects.count() == 1


def test_only_what_is_in_force_is_listed(staff: Client, band: Band) -> None:
    days = {"1-1": "2099-10-07", "1-2": "2099-10-08", "1-3": None}
    for spot, until in days.items():
        ProtectedSpot.objects.create(spot=band.spots[spot], until=until)
    for name in (PAGE, "challenges"):
        page = staff.get(reverse(name))
        assert [str(p.spot) for p in page.context["protections"]] == ["1-2", "1-3"]
    assert "1-1 is protected through Oct 9, 2099." in protect(staff, band, "2099-10-09")
