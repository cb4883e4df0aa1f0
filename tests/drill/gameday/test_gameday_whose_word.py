"""Whose word a request waits for: each role has its own buttons, and nobody approves their own."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from django.test import Client
from django.urls import reverse

from bandops.lib.accounts.models import User
from bandops.lib.audit.models import AuditEntry
from drill.gameday.models import FillRequest
from roster.people.enums import Role
from roster.people.models import Deputy, RoleGrant
from tests.answers import text
from tests.drill.gameday.gameday_desk import at, number, out
from tests.drill.gameday.test_gameday_requests import (
    ask,
    form_for,
    late,
    post_fill,
    press,
    published,
)
from tests.factories import Band, Cast

__all__ = ["late", "out"]

pytestmark = [pytest.mark.django_db, pytest.mark.postgres("rows are locked, JSON is compared")]
SignIn = Callable[[User | None], Client]


def another(band: Band, cast: Cast, role: Role = Role.STAFF, deputy: bool = False) -> User:
    """Another account of the staff, or a deputy of today."""
    user = User.objects.create_user("other@staff.example", "Other Staff")
    RoleGrant.objects.create(user=user, season=band.season, role=role)
    if deputy:
        make_deputy(band, cast, user)
    return user


def make_deputy(band: Band, cast: Cast, user: User) -> None:
    day = band.season.today()
    Deputy.objects.create(
        season=band.season, user=user, named_by=cast.director, starts=day, ends=day
    )


def test_a_deputy_approves_as_deputy(late: Band, cast: Cast, signed_in: SignIn) -> None:
    asked = ask(late, signed_in(cast.staff))
    deputy = signed_in(another(late, cast, deputy=True))
    press(deputy, "approve", asked)
    lineup = published(late)
    assert lineup.publisher == "Other Staff, as deputy of Director"
    entry = AuditEntry.objects.filter(table="gameday_daychange").latest("pk")
    assert entry.actor_label == "Other Staff, as deputy of Director"
    assert "approved by Other Staff, as deputy of Director" in text(
        deputy.get(reverse("desk-of", args=[late.event.pk]))
    )


def test_a_deputy_does_not_approve_what_they_asked_for(
    late: Band, cast: Cast, signed_in: SignIn
) -> None:
    """Asked for before they were deputy: the director in person says yes or no."""
    asked = ask(late, signed_in(cast.staff))
    make_deputy(late, cast, cast.staff)
    deputy = signed_in(cast.staff)
    page = text(deputy.get(reverse("desk-of", args=[late.event.pk])))
    assert "Approve and publish" not in page and "Decline" not in page
    assert "You asked for this yourself: Director approves it." in page
    assert "You asked for this yourself: the director approves it." in press(
        deputy, "approve", asked
    )
    assert "withdraw it instead" in press(deputy, "decline", asked, reason="no")
    assert (number(late), FillRequest.objects.get().state) == (1, "waiting")
    press(signed_in(cast.director), "approve", asked)
    assert number(late) == 2


def test_a_director_who_approves_their_own_is_named_so(
    late: Band, cast: Cast, signed_in: SignIn
) -> None:
    asked = ask(late, signed_in(cast.staff))
    RoleGrant.objects.create(user=cast.staff, season=late.season, role=Role.DIRECTOR)
    press(signed_in(cast.staff), "approve", asked)
    entry = AuditEntry.objects.filter(table="gameday_daychange").latest("pk")
    assert entry.action == "approve the fill they asked for themselves"


def test_each_role_has_its_own_buttons(late: Band, cast: Cast, signed_in: SignIn) -> None:
    asked = ask(late, signed_in(cast.staff))
    buttons = ("Approve and publish", "Decline", "Withdraw the request", "The director decides.")
    only = "only the director changes the lineup"
    who = {
        cast.staff: (False, False, True, True),
        another(late, cast): (False, False, False, True),
        cast.director: (True, True, False, False),
    }
    for user, seen in who.items():
        for url in (reverse("desk-of", args=[late.event.pk]), reverse("week")):
            page = text(signed_in(user).get(url))
            assert tuple(button in page for button in buttons) == seen, (user, url)
            assert (only in page) == (user != cast.director), (user, url)
    director = signed_in(cast.director)
    assert "only they can withdraw it" in press(director, "withdraw", asked)
    assert FillRequest.objects.get().state == "waiting"


def test_two_requests_for_one_alternate_are_not_both_approved(
    late: Band, cast: Cast, signed_in: SignIn
) -> None:
    staff, director = signed_in(cast.staff), signed_in(cast.director)
    first = ask(late, staff)
    gus = late.members["Gus Tamm"].pk
    post_fill(staff, late, form_for(late, out=gus))
    second = FillRequest.objects.latest("pk")
    press(director, "approve", first)
    assert "marches another spot: too late to approve it" in text(
        director.get(reverse("desk-of", args=[late.event.pk]))
    )
    assert "have changed hands" in press(director, "approve", second)
    assert (number(late), at(late, "Halftime", "1-3")) == (2, "Jon Pell")
