"""After the cut-off a swap waits for the director's word, as a fill does."""

from __future__ import annotations

import uuid
from collections.abc import Callable
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse

from bandops.lib.accounts.models import User
from bandops.lib.audit.models import AuditEntry
from drill.absences.models import Absence
from drill.gameday.models import DayChange, FillRequest
from tests.answers import text
from tests.drill.gameday.gameday_desk import at, number, out
from tests.drill.gameday.test_gameday_requests import form_for, late, post_fill, press, published
from tests.factories import Band, Cast

__all__ = ["late", "out"]

pytestmark = [pytest.mark.django_db, pytest.mark.postgres("rows are locked, JSON is compared")]
SignIn = Callable[[User | None], Client]
CAI, GUS, JON = "Cai Ørnberg", "Gus Tamm", "Jon Pell"


def pair(band: Band, first: str = CAI, second: str = GUS, **more: Any) -> dict[str, Any]:
    people = {"first": band.members[first].pk, "second": band.members[second].pk}
    return people | {"number": 1, "key": str(uuid.uuid4())} | more


def post(client: Client, band: Band, form: dict[str, Any]) -> str:
    return text(client.post(reverse("desk-swap", args=[band.event.pk]), form, follow=True))


def test_staff_ask_for_a_swap_and_one_tap_approves(
    late: Band, cast: Cast, signed_in: SignIn
) -> None:
    staff, director = signed_in(cast.staff), signed_in(cast.director)
    page = text(staff.get(reverse("desk-swap", args=[late.event.pk]), pair(late)))
    assert "Ask the director: swap Cai Ørnberg and Gus Tamm</button>" in page
    form = pair(late, reason="they know it better")
    assert "the director has been asked" in post(staff, late, form)
    post(staff, late, form)
    asked = FillRequest.objects.get()
    assert number(late) == 1 and not Absence.objects.exists(), "nobody is out"
    shown = text(director.get(reverse("desk-of", args=[late.event.pk])))
    assert "Halftime 1-3: Gus Tamm instead of Cai Ørnberg" in shown
    press(director, "approve", asked)
    assert (at(late, "Halftime", "1-3"), at(late, "Halftime", "2-2")) == (GUS, CAI)
    assert published(late).override_reason == "Asked for by Staff: they know it better"
    entry = AuditEntry.objects.filter(table="gameday_daychange").latest("pk")
    assert entry.action == "approve the swap asked for by Staff"
    asked.refresh_from_db()
    assert (asked.state, asked.change) == ("approved", DayChange.objects.get())


def test_a_swap_that_others_overtook_is_not_applied(
    late: Band, cast: Cast, signed_in: SignIn
) -> None:
    staff, director = signed_in(cast.staff), signed_in(cast.director)
    post(staff, late, pair(late, segments=late.halftime.pk))
    post_fill(director, late, form_for(late, JON, reason="ill"))
    assert "have changed hands" in press(director, "approve", FillRequest.objects.get())
    assert at(late, "Halftime", "1-3") == JON


@pytest.mark.parametrize(
    ("pair_of", "said"),
    [((JON, "Ida Voss"), "nothing to swap"), ((CAI, "Dee Quill"), "cannot march each other")],
)
def test_what_cannot_be_swapped_is_not_asked_for(
    late: Band, cast: Cast, signed_in: SignIn, pair_of: tuple[str, str], said: str
) -> None:
    assert said in post(signed_in(cast.staff), late, pair(late, *pair_of))
    assert not FillRequest.objects.exists()


def test_the_director_swaps_at_once_with_a_reason(
    late: Band, cast: Cast, signed_in: SignIn
) -> None:
    director = signed_in(cast.director)
    page = text(director.get(reverse("desk-swap", args=[late.event.pk]), pair(late)))
    assert 'name="reason" required' in page and "Ask the director" not in page
    post(director, late, pair(late, reason="shorter steps"))
    assert number(late) == 2 and not FillRequest.objects.exists()
