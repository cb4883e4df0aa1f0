"""That people are being told is said only where mail goes out to them."""

from __future__ import annotations

import datetime
from collections.abc import Callable
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from bandops.lib.accounts.models import User
from drill.events.models import Event
from drill.gameday.models import DayChange, FillRequest
from drill.lineup.services.drafts import open_draft
from roster.people.models import Person, Season
from tests.answers import text
from tests.drill.gameday.gameday_desk import out
from tests.factories import Band, Cast

__all__ = ["out"]

pytestmark = pytest.mark.django_db
SignIn = Callable[[User | None], Client]
TOLD, PRINT = "are being emailed", "Email is not set up: print the slips or tell them"
CAI, JON = "Cai Ørnberg", "Jon Pell"


@pytest.fixture(params=[True, False])
def mailed(request: pytest.FixtureRequest, settings: Any) -> bool:
    """Whether mail is set up."""
    if not request.param:
        settings.EMAIL_BACKEND = "django.core.mail.backends.console.EmailBackend"
    return bool(request.param)


def says(page: str, mailed: bool) -> bool:
    return (TOLD in page, PRINT in page) == (mailed, not mailed)


def fill(client: Client, band: Band, **more: Any) -> str:
    form = {"out": band.members[CAI].pk, "in": band.members[JON].pk, "number": 1} | more
    return text(client.post(reverse("desk-fill", args=[band.event.pk]), form, follow=True))


def test_every_way_to_publish_says_whether_mail_goes_out(
    out: Band, cast: Cast, signed_in: SignIn, mailed: bool
) -> None:
    staff = signed_in(cast.staff)
    assert says(fill(staff, out), mailed)
    undo = reverse("desk-undo", args=[DayChange.objects.get().pk])
    assert says(text(staff.post(undo, follow=True)), mailed)
    pair = {"first": out.members[CAI].pk, "second": out.members["Gus Tamm"].pk, "number": 3}
    swapped = staff.post(reverse("desk-swap", args=[out.event.pk]), pair, follow=True)
    assert says(text(swapped), mailed)
    first = out.event.lineups.get(number=1)
    again = staff.post(reverse("revision-again", args=[first.pk]), follow=True)
    assert (TOLD in text(again)) == mailed
    draft = open_draft(actor=cast.staff, event=out.event)
    form = {"version": draft.version, "number": 5}
    page = text(staff.post(reverse("publish", args=[out.event.pk]), form, follow=True))
    assert TOLD not in page and "Nobody needs to be told." in page, "nothing changed"


def test_the_director_is_mailed_or_to_be_told(
    out: Band, cast: Cast, signed_in: SignIn, mailed: bool
) -> None:
    cut_off = timezone.now() - datetime.timedelta(hours=1)
    Event.objects.filter(pk=out.event.pk).update(cut_off=cut_off)
    page = fill(signed_in(cast.staff), out)
    assert ("Email is not set up: tell the director to look at the desk." in page) != mailed
    approve = reverse("desk-request-approve", args=[FillRequest.objects.get().pk])
    assert says(text(signed_in(cast.director).post(approve, follow=True)), mailed)


def test_whom_no_mail_reaches_is_named(out: Band, cast: Cast, signed_in: SignIn) -> None:
    Person.objects.filter(memberships=out.members[JON]).update(email="", user=None)
    assert f"{TOLD}. No email address: {JON}." in fill(signed_in(cast.staff), out)


def test_nobody_is_said_to_be_told_where_nobody_has_an_address(
    out: Band, cast: Cast, signed_in: SignIn
) -> None:
    Person.objects.update(email="", user=None)
    page = fill(signed_in(cast.staff), out)
    assert TOLD not in page
    assert "Nobody it affects has an email address: print the slips or tell them." in page


def test_in_quiet_time_the_mails_wait(out: Band, cast: Cast, signed_in: SignIn) -> None:
    now = timezone.now().astimezone(out.season.zone)
    around = [(now + datetime.timedelta(hours=h)).time().replace(minute=0) for h in (-1, 2)]
    Season.objects.update(quiet_from=around[0], quiet_until=around[1])
    page = fill(signed_in(cast.staff), out)
    assert TOLD not in page and "Their emails wait until" in page


def test_the_pages_say_the_same(out: Band, cast: Cast, signed_in: SignIn, mailed: bool) -> None:
    staff = signed_in(cast.staff)
    fill(staff, out)
    page = text(staff.get(reverse("desk-change", args=[DayChange.objects.get().pk])))
    assert ("Who gets told" in page, "Who to tell" in page) == (mailed, not mailed)
    first = out.event.lineups.get(number=1)
    page = text(staff.get(reverse("revision", args=[first.pk])))
    assert ("only people it moves are told" in page) == mailed
