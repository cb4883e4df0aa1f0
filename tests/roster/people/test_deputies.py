"""A deputy has the director's rights for a day, signs as deputy, and stops by the calendar."""

from __future__ import annotations

import datetime
from collections.abc import Callable, Iterator
from typing import Any

import pytest
import time_machine
from django.db import IntegrityError, transaction
from django.test import Client
from django.urls import reverse

from bandops.lib.accounts.models import User
from bandops.lib.audit.models import AuditEntry
from bandops.lib.errors import Refused
from roster.people.enums import Role
from roster.people.models import Deputy, RoleGrant
from roster.people.services.deputies import end_deputy, name_deputy
from roster.people.services.seasons import revoke_role
from roster.people.viewer import viewer_of
from tests.answers import text
from tests.factories import Band, Cast

pytestmark = [pytest.mark.django_db, pytest.mark.postgres("dates are compared in constraints")]
SignIn = Callable[[User | None], Client]
GAME = datetime.date(2099, 10, 17)
EVE = GAME - datetime.timedelta(days=1)


def local(day: int, hour: int, minute: int = 0) -> datetime.datetime:
    """A moment of October 2099 in the band's zone (CDT)."""
    zone = datetime.timezone(datetime.timedelta(hours=-5))
    return datetime.datetime(2099, 10, day, hour, minute, tzinfo=zone)


@pytest.fixture
def clock() -> Iterator[Any]:
    with time_machine.travel(local(16, 12), tick=False) as traveller:
        yield traveller


@pytest.fixture
def deputy(clock: Any, band: Band, cast: Cast) -> Deputy:
    """Staff is deputy on the day of the game."""
    return name_deputy(
        actor=cast.director, season=band.season, user=cast.staff, starts=GAME, ends=GAME
    )


@pytest.mark.parametrize(
    ("moment", "is_director"),
    [
        (local(16, 23, 59), False),
        (local(17, 0), True),
        (local(17, 23, 59), True),
        (local(18, 0), False),
    ],
)
def test_the_rights_begin_and_end_with_the_day(
    deputy: Deputy, clock: Any, cast: Cast, moment: datetime.datetime, is_director: bool
) -> None:
    clock.move_to(moment)
    found = viewer_of(cast.staff)
    assert found.is_director == is_director and found.is_staff
    assert not found.is_appointed_director


def test_what_a_deputy_does_is_signed_as_deputy(
    deputy: Deputy, clock: Any, cast: Cast, signed_in: SignIn
) -> None:
    clock.move_to(local(17, 9))
    staff = signed_in(cast.staff)
    staff.post(reverse("rank-new"), {"label": "9", "order": 9})
    entry = AuditEntry.objects.filter(action="save rank").latest("pk")
    assert (entry.actor_id, entry.actor_label) == (cast.staff.pk, "Staff, as deputy of Director")
    assert "Staff, as deputy of Director" in text(signed_in(cast.director).get(reverse("audit")))
    clock.move_to(local(18, 9))
    staff = signed_in(cast.staff)
    staff.post(reverse("rank-new"), {"label": "10", "order": 10})
    assert AuditEntry.objects.filter(action="save rank").latest("pk").actor_label == "Staff"


def test_a_deputy_changes_the_season_but_gives_no_rights(
    deputy: Deputy, clock: Any, cast: Cast, band: Band, signed_in: SignIn
) -> None:
    clock.move_to(local(17, 9))
    staff = signed_in(cast.staff)
    assert staff.get(reverse("season")).status_code == 200
    for name in ("roles", "deputies"):
        assert staff.get(reverse(name)).status_code == 403, name
    data = {"email": cast.evaluator.email, "name": "", "role": Role.DIRECTOR}
    assert staff.post(reverse("roles"), data).status_code == 403
    assert staff.post(reverse("deputy-end", args=[deputy.pk])).status_code == 403
    with pytest.raises(Refused, match="Only the director"):
        name_deputy(
            actor=cast.staff, season=band.season, user=cast.evaluator, starts=GAME, ends=GAME
        )


def test_the_director_names_and_ends_a_deputy_on_the_page(
    clock: Any, cast: Cast, signed_in: SignIn
) -> None:
    director = signed_in(cast.director)
    form = {"user": cast.staff.pk, "starts": "2099-10-17", "ends": ""}
    page = text(director.post(reverse("deputies"), form, follow=True))
    assert "Staff is your deputy on Sat, Oct 17." in page
    clock.move_to(local(17, 9))
    director = signed_in(cast.director)  # giving rights asks for a fresh sign-in
    assert "deputy today" in text(director.get(reverse("deputies")))
    director.post(reverse("deputy-end", args=[Deputy.objects.get().pk]))
    assert not viewer_of(cast.staff).is_director


@pytest.mark.parametrize(
    ("form", "message"),
    [
        ({"starts": "2099-10-17", "ends": "2099-10-16"}, "last day is before the first"),
        ({"starts": "2099-10-15", "ends": "2099-10-15"}, "That day has passed"),
        ({"starts": "2099-10-17", "ends": "2099-10-31"}, "14 days at most"),
        ({"starts": "", "ends": ""}, "This field is required"),
    ],
)
def test_days_that_make_no_sense_are_refused_at_the_form(
    clock: Any, cast: Cast, signed_in: SignIn, form: dict[str, str], message: str
) -> None:
    page = signed_in(cast.director).post(reverse("deputies"), form | {"user": cast.staff.pk})
    assert message in text(page) and not Deputy.objects.exists()


def test_the_database_keeps_the_days_in_order(band: Band, cast: Cast) -> None:
    with pytest.raises(IntegrityError), transaction.atomic():
        Deputy.objects.create(
            season=band.season, user=cast.staff, named_by=cast.director, starts=GAME, ends=EVE
        )


def test_only_staff_are_named_and_who_leaves_the_staff_is_deputy_no_longer(
    deputy: Deputy, clock: Any, cast: Cast, band: Band
) -> None:
    with pytest.raises(Refused, match="not on the staff"):
        name_deputy(
            actor=cast.director, season=band.season, user=cast.evaluator, starts=GAME, ends=GAME
        )
    clock.move_to(local(17, 9))
    revoke_role(actor=cast.director, grant=RoleGrant.objects.get(user=cast.staff))
    assert not viewer_of(cast.staff).is_director
    end_deputy(actor=cast.director, deputy=deputy)
    assert not Deputy.objects.exists()
