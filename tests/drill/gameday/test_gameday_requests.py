"""After the cut-off: the director's reason is kept, and staff ask for the director's word."""

from __future__ import annotations

import datetime
import uuid
from collections.abc import Callable
from typing import Any

import pytest
from django.core import mail
from django.db import IntegrityError, transaction
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from bandops.lib.accounts.models import User
from bandops.lib.audit.models import AuditEntry
from drill.absences.models import Absence
from drill.events.models import Event
from drill.gameday.models import DayChange, FillRequest
from drill.gameday.services.fills import fill
from drill.gameday.services.request_mail import send_request
from drill.lineup import queries as lineup_queries
from drill.lineup.models import Lineup
from drill.lineup.services.drafts import open_draft
from tests.answers import text
from tests.drill.gameday.gameday_desk import at, number, out, wish
from tests.factories import Band, Cast

__all__ = ["out"]

pytestmark = [pytest.mark.django_db, pytest.mark.postgres("rows are locked, JSON is compared")]
SignIn = Callable[[User | None], Client]


@pytest.fixture
def late(out: Band) -> Band:
    """The cut-off was an hour ago."""
    cut_off = timezone.now() - datetime.timedelta(hours=1)
    Event.objects.filter(pk=out.event.pk).update(cut_off=cut_off)
    out.event.refresh_from_db()
    return out


def form_for(band: Band, into: str | None = "Jon Pell", **more: Any) -> dict[str, Any]:
    """Cai is out, by revision 1."""
    found = {"out": band.members["Cai Ørnberg"].pk, "number": 1, "key": str(uuid.uuid4())}
    return found | ({"in": band.members[into].pk} if into else {}) | more


def post_fill(client: Client, band: Band, form: dict[str, Any]) -> str:
    return text(client.post(reverse("desk-fill", args=[band.event.pk]), form, follow=True))


def press(client: Client, what: str, asked: FillRequest, **data: str) -> str:
    return text(client.post(reverse(f"desk-request-{what}", args=[asked.pk]), data, follow=True))


def ask(band: Band, staff: Client, into: str | None = "Jon Pell", note: str = "") -> FillRequest:
    told = post_fill(staff, band, form_for(band, into, reason=note))
    assert "the director has been asked" in told
    return FillRequest.objects.latest("pk")


def published(band: Band) -> Lineup:
    lineup = lineup_queries.published(band.event)
    assert lineup is not None
    return lineup


def test_the_director_says_why_and_it_is_kept(late: Band, cast: Cast, signed_in: SignIn) -> None:
    director = signed_in(cast.director)
    page = text(director.get(reverse("desk-out", args=[late.event.pk, form_for(late)["out"]])))
    assert 'name="reason" required' in page
    assert "No health reasons: the band can read this." in page
    assert "say why this changes now" in post_fill(director, late, form_for(late, reason="  "))
    assert number(late) == 1, "no spot changes; that Cai is out is kept"
    assert Absence.objects.get().member == late.members["Cai Ørnberg"]
    post_fill(director, late, form_for(late, reason="Cai missed the bus"))
    assert (number(late), published(late).override_reason) == (2, "Cai missed the bus")
    shown = "Cai missed the bus"
    staff = signed_in(cast.staff)
    for url in (
        reverse("history"),
        reverse("revision", args=[published(late).pk]),
        reverse("desk-change", args=[DayChange.objects.get().pk]),
        reverse("desk-of", args=[late.event.pk]),
    ):
        assert shown in text(staff.get(url)), url
    for user in (cast.leader, cast.member):
        for name in ("card", "my-rank") if user == cast.leader else ("card",):
            assert shown not in text(signed_in(user).get(reverse(name))), "for staff only"


def test_every_way_to_publish_after_the_cut_off_asks_for_a_reason(
    late: Band, cast: Cast, signed_in: SignIn
) -> None:
    director = signed_in(cast.director)
    post_fill(director, late, form_for(late, reason="ill"))
    second, undo = published(late), reverse("desk-undo", args=[DayChange.objects.get().pk])
    assert "say why this changes now" in text(director.post(undo, follow=True))
    director.post(undo, {"reason": "he is here"})
    assert (number(late), published(late).override_reason) == (3, "he is here")
    again = reverse("revision-again", args=[second.pk])
    assert "say why this changes now" in text(director.post(again, follow=True))
    director.post(again, {"reason": "limps after all"})
    assert (number(late), published(late).override_reason) == (4, "limps after all")
    draft = open_draft(actor=cast.director, event=late.event)
    form = {"version": draft.version, "number": 4}
    publish = reverse("publish", args=[late.event.pk])
    assert 'name="reason" required' in text(director.get(publish))
    assert "say why this changes now" in text(director.post(publish, form, follow=True))
    director.post(publish, form | {"reason": "as it stands"})
    assert (number(late), published(late).override_reason) == (5, "as it stands")


def test_before_the_cut_off_no_reason_is_asked_or_kept(out: Band, cast: Cast) -> None:
    fill(
        actor=cast.staff,
        event=out.event,
        wish=wish(out, "Cai Ørnberg", "Jon Pell"),
        reason="never asked",
    )
    assert published(out).override_reason == ""


def test_staff_ask_and_one_tap_approves(late: Band, cast: Cast, signed_in: SignIn) -> None:
    """Asked at ten: nothing changes until the director's tap, which is the director's change."""
    staff, director = signed_in(cast.staff), signed_in(cast.director)
    page = text(staff.get(reverse("desk-out", args=[late.event.pk, form_for(late)["out"]])))
    assert "Ask the director: Jon Pell steps in" in page
    asked = ask(late, staff, note="bus is late")
    assert number(late) == 1 and at(late, "Halftime", "1-3") == "Cai Ørnberg"
    for url in (reverse("desk-of", args=[late.event.pk]), reverse("week")):
        shown = text(director.get(url))
        assert "Staff asked for the director" in shown and "Approve and publish" in shown, url
        assert "Halftime 1-3: Jon Pell instead of Cai Ørnberg" in shown, url
        assert "Approve and publish" not in text(staff.get(url)), url
    press(director, "approve", asked)
    assert at(late, "Halftime", "1-3") == at(late, "Pregame", "1-3") == "Jon Pell"
    asked.refresh_from_db()
    change = DayChange.objects.get()
    assert (asked.state, asked.change, change.made_by) == ("approved", change, cast.director)
    assert published(late).override_reason == "Asked for by Staff: bus is late"
    entry = AuditEntry.objects.filter(table="gameday_daychange").latest("pk")
    assert (entry.action, entry.actor_label) == ("approve the fill asked for by Staff", "Director")
    assert "approved by Director" in text(staff.get(reverse("desk-of", args=[late.event.pk])))
    assert "already approved" in press(director, "approve", asked)
    assert number(late) == 2


def test_a_request_about_seats_that_changed_hands_is_outdated_and_not_applied(
    late: Band, cast: Cast, signed_in: SignIn
) -> None:
    staff, director = signed_in(cast.staff), signed_in(cast.director)
    asked = ask(late, staff)
    post_fill(director, late, form_for(late, "Ida Voss", reason="closer"))
    assert "out of date" in text(director.get(reverse("desk-of", args=[late.event.pk])))
    assert "have changed hands" in press(director, "approve", asked)
    assert (number(late), at(late, "Halftime", "1-3")) == (2, "Ida Voss")
    assert "Withdrawn" in press(staff, "withdraw", asked)
    assert "outdated" not in text(director.get(reverse("desk-of", args=[late.event.pk])))


def test_another_revision_that_leaves_the_seats_alone_does_not_stop_it(
    late: Band, cast: Cast, signed_in: SignIn
) -> None:
    asked = ask(late, signed_in(cast.staff))
    director = signed_in(cast.director)
    gus = {"out": late.members["Gus Tamm"].pk, "number": 1, "reason": "ankle"}
    post_fill(director, late, gus | {"in": late.members["Kit Moss"].pk})
    press(director, "approve", asked)
    assert (number(late), at(late, "Halftime", "1-3")) == (3, "Jon Pell")
    assert at(late, "Halftime", "2-2") == "Kit Moss"


def test_a_request_whose_stand_in_is_gone_is_refused(
    late: Band, cast: Cast, signed_in: SignIn
) -> None:
    asked, director = ask(late, signed_in(cast.staff)), signed_in(cast.director)
    late.members["Jon Pell"].status = "left"
    late.members["Jon Pell"].save()
    assert "Too late to do it the way it was asked" in press(director, "approve", asked)
    asked.refresh_from_db()
    assert (number(late), asked.state) == (1, "waiting")


def test_declined_with_a_word(late: Band, cast: Cast, signed_in: SignIn) -> None:
    staff, director = signed_in(cast.staff), signed_in(cast.director)
    asked = ask(late, staff)
    assert "Say why not" in press(director, "decline", asked)
    press(director, "decline", asked, reason="Cai is on the way")
    page = text(staff.get(reverse("desk-of", args=[late.event.pk])))
    assert "declined by Director" in page and "Cai is on the way" in page
    assert number(late) == 1


def test_a_form_sent_twice_asks_once_and_two_people_do_not_ask_the_same(
    late: Band, cast: Cast, signed_in: SignIn
) -> None:
    staff, form = signed_in(cast.staff), form_for(late)
    post_fill(staff, late, form)
    post_fill(staff, late, form)
    assert FillRequest.objects.count() == 1
    assert "already asked for this" in post_fill(staff, late, form_for(late))
    ask(late, staff, None)
    assert FillRequest.objects.count() == 2, "to leave a hole is another question"


def test_staff_cannot_approve_their_own_request(late: Band, cast: Cast, signed_in: SignIn) -> None:
    staff = signed_in(cast.staff)
    asked = ask(late, staff)
    for what in ("approve", "decline"):
        assert "only the director" in press(staff, what, asked, reason="so")
    assert number(late) == 1 and FillRequest.objects.get().state == "waiting"


def test_the_director_and_the_deputy_of_the_day_are_mailed(
    late: Band, cast: Cast, signed_in: SignIn
) -> None:
    asked = ask(late, signed_in(cast.staff))
    mail.outbox.clear()
    send_request(asked.pk)
    assert [m.to for m in mail.outbox] == [[cast.director.email]]
    assert "Halftime 1-3: Jon Pell instead of Cai Ørnberg" in mail.outbox[0].body
    assert reverse("desk-of", args=[late.event.pk]) in mail.outbox[0].body
    press(signed_in(cast.director), "decline", asked, reason="no")
    mail.outbox.clear()
    send_request(asked.pk)
    assert not mail.outbox, "decided meanwhile"


def test_the_database_keeps_a_request_whole(late: Band, cast: Cast, signed_in: SignIn) -> None:
    asked = ask(late, signed_in(cast.staff))
    for wrong in (
        {"state": "approved", "decided_at": timezone.now()},
        {"state": "declined", "decided_at": timezone.now()},
        {"state": "withdrawn"},
    ):
        with pytest.raises(IntegrityError), transaction.atomic():
            FillRequest.objects.filter(pk=asked.pk).update(**wrong)
