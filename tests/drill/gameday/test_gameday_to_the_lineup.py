"""From the desk's page of a spot to the lineup's panel of it, and back."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from django.test import Client
from django.urls import reverse

from bandops.lib.accounts.models import User
from tests.answers import text
from tests.drill.gameday.gameday_desk import ask, open_wish, out, wish
from tests.factories import Band, Cast

__all__ = ["out"]

pytestmark = pytest.mark.django_db
SignIn = Callable[[User | None], Client]
CAI, JON = "Cai Ørnberg", "Jon Pell"


def panel(band: Band) -> str:
    return reverse("seat", args=[band.event.pk, band.halftime.pk, band.spots["1-3"].pk])


def test_an_open_spot_leads_to_its_panel_and_back(out: Band, cast: Cast, signed_in: SignIn) -> None:
    ask(out, cast, wish(out, CAI, None))
    staff = signed_in(cast.staff)
    fill = reverse("desk-open", args=[out.event.pk, out.spots["1-3"].pk])
    assert f"{panel(out)}?from=desk" in text(staff.get(fill))
    page = text(staff.get(panel(out), {"from": "desk"}))
    assert fill in page and "Back to Game day: fill 1-3" in page
    page = text(staff.get(panel(out)))
    assert fill in page and "Fill 1-3 at the desk" in page
    ask(out, cast, open_wish(out, "1-3", JON, 2))
    assert f"{panel(out)}?from=desk" in text(staff.get(fill)), "also when it is no longer open"
    assert "at the desk" not in text(staff.get(panel(out)))


def test_the_page_of_whoever_is_out_leads_there_too(
    out: Band, cast: Cast, signed_in: SignIn
) -> None:
    staff, pk = signed_in(cast.staff), out.members[CAI].pk
    url = reverse("desk-out", args=[out.event.pk, pk])
    assert f"{panel(out)}?from=desk&amp;out={pk}" in text(staff.get(url))
    page = text(staff.get(panel(out), {"from": "desk", "out": str(pk)}))
    assert url in page and "Back to Game day: who steps in" in page
