"""What was said before a segment ended counts for it, however late it arrives; what a page promised
is done as it was promised, or not at all."""

from __future__ import annotations

import datetime
import re
from collections.abc import Callable
from dataclasses import replace
from typing import Any

import pytest
import time_machine
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from bandops.lib.accounts.models import User
from drill.absences.enums import AbsenceKind
from drill.absences.models import Absence
from drill.absences.services.absences import withdraw_absence
from drill.absences.services.standings import availability_by_segment
from drill.events.models import Event
from drill.gameday.models import DayChange, FillRequest
from drill.gameday.services.fills import fill
from drill.gameday.services.not_out import not_out
from drill.rehearsals.models import Practice
from drill.shows.models import DrillSet, Show, ShowVersion
from roster.people.enums import MemberStatus
from roster.people.models import Member
from tests.answers import text
from tests.drill.gameday.gameday_desk import ask, at, number, opened, out, wish
from tests.drill.rehearsals.rehearsal_pages import note
from tests.factories import Band, Cast

__all__ = ["out"]

pytestmark = [pytest.mark.django_db, pytest.mark.postgres("rows are locked, JSON is compared")]
SignIn = Callable[[User | None], Client]
BO, CAI, GUS, IDA, JON = "Bo Larkspur", "Cai Ørnberg", "Gus Tamm", "Ida Voss", "Jon Pell"
KIT = "Kit Moss"


def clock(band: Band, hour: int, minute: int = 0) -> Any:
    return time_machine.travel(band.event.local(datetime.time(hour, minute)), tick=False)


def out_of(band: Band, name: str) -> set[str]:
    found = availability_by_segment(band.event, [band.members[name]])
    names = {s.pk: s.name for s in band.event.segments.all()}
    return {names[segment] for (_, segment), word in found.items() if word == "out"}


def said_before_pregame(band: Band, name: str, into: str | None, **more: Any) -> Any:
    """Said at one, when pregame was to come."""
    return replace(
        wish(band, name, into, **more), at=band.event.local(datetime.time(13)), moves=None
    )


def test_a_report_made_before_a_segment_ended_is_kept_for_it(out: Band, cast: Cast) -> None:
    made = said_before_pregame(out, CAI, JON)
    with clock(out, 15):
        change = ask(out, cast, made).change
    assert change is not None and out_of(out, CAI) == {"Pregame", "Halftime", "Stands"}
    assert (at(out, "Pregame", "1-3"), at(out, "Halftime", "1-3")) == (CAI, JON)


def test_a_report_about_what_is_over_by_now_is_kept_and_fills_nothing(
    out: Band, cast: Cast, signed_in: SignIn
) -> None:
    made = said_before_pregame(out, CAI, JON, segments=[out.pregame])
    with clock(out, 15):
        outcome = fill(actor=cast.staff, event=out.event, wish=made)
    assert (outcome.change, outcome.clash) == (None, None)
    assert out_of(out, CAI) == {"Pregame"} and number(out) == 1
    with clock(out, 13):
        form = {"out": out.members[GUS].pk, "in": out.members[KIT].pk, "number": 1}
        form |= {"segments": str(out.pregame.pk), "noted_at": timezone.now().isoformat()}  # type: ignore[dict-item]
    with clock(out, 15):
        url = reverse("desk-fill", args=[out.event.pk])
        headers = {"X-Queued": "later"}
        answer = signed_in(cast.staff).post(url, form, headers=headers).json()
    assert f"{GUS} was marked out. Pregame: already over" in answer["text"]
    assert out_of(out, GUS) == {"Pregame"}


def test_moves_of_what_is_over_do_not_stand_in_the_way(out: Band, cast: Cast) -> None:
    """The button said what happens in both segments; pregame is over when it arrives."""
    with clock(out, 13):
        desk = opened(out)
        seats = {g for (g, _), who in desk.field.seats.items() if who}
        assert len(seats) == 2
        form = moves_on_the_page(out, cast)
    made = replace(said_before_pregame(out, CAI, JON), moves=form)
    with clock(out, 15):
        assert ask(out, cast, made).change is not None
    assert at(out, "Halftime", "1-3") == JON


def moves_on_the_page(band: Band, cast: Cast) -> frozenset[tuple[str, str, str]]:
    from drill.gameday.core.fills import seats_of_member
    from drill.gameday.services.desk import choices_for, moves_of

    desk, who = opened(band), f"{band.members[CAI].pk:07d}"
    seats = seats_of_member(desk.field, who, desk.clock.keys)
    found = choices_for(desk, seats, who)
    return next(moves_of(c) for c in found if c.member == f"{band.members[JON].pk:07d}")


def test_putting_back_opens_no_more_than_the_page_said(
    out: Band, cast: Cast, signed_in: SignIn
) -> None:
    """Staff tapped “put back” without network; meanwhile Cai was entered as out again."""
    ask(out, cast, wish(out, CAI, JON))
    withdraw_absence(actor=cast.staff, absence=Absence.objects.get())
    staff = signed_in(cast.staff)
    page = text(staff.get(reverse("desk-of", args=[out.event.pk])))
    assert f"{CAI} is back" in page
    found = re.search(r'name="opens" value="([^"]*)"', page)
    assert found is not None and found[1] == ""
    Absence.objects.create(member=out.members[CAI], event=out.event, kind=AbsenceKind.OUT)
    undo = reverse("desk-undo", args=[DayChange.objects.get().pk])
    said = text(staff.post(undo, {"opens": found[1]}, follow=True))
    assert "Nothing was taken back" in said and f"{CAI} at Pregame 1-3" in said
    assert (number(out), at(out, "Halftime", "1-3")) == (2, JON)


def test_who_is_back_is_named_though_their_spot_has_changed_hands(
    out: Band, cast: Cast, signed_in: SignIn
) -> None:
    ask(out, cast, wish(out, CAI, JON))
    ask(out, cast, wish(out, JON, IDA, 2))
    Absence.objects.filter(member=out.members[CAI]).delete()
    page = text(signed_in(cast.staff).get(reverse("desk-of", args=[out.event.pk])))
    assert f"{CAI} is back" in page and "Their spot has changed hands" in page
    assert f"Put {CAI} back" not in page
    first = DayChange.objects.order_by("pk").first()
    assert first is not None
    page = text(signed_in(cast.staff).get(reverse("desk-change", args=[first.pk])))
    assert "Take this change back" not in page and "changed hands" in page


def test_the_desk_says_who_was_noted_as_here(out: Band, cast: Cast, signed_in: SignIn) -> None:
    member = out.members[CAI]
    with clock(out, 11, 5):
        Absence.objects.create(member=member, event=out.event, kind=AbsenceKind.OUT)
        staff = signed_in(cast.staff)
        url = reverse("desk-of", args=[out.event.pk])
        assert "marked here" not in text(staff.get(url))
        note(staff, out.event, out, CAI, "present")
        page = text(staff.get(url))
    assert "marked here" in page and "Not out after all" in page


@pytest.fixture
def chain(out: Band) -> Band:
    """Jon and Ida are out; Gus knows 1-3 and Kit knows the spot of Gus, 2-2."""
    for name in (JON, IDA):
        Absence.objects.create(member=out.members[name], event=out.event, kind=AbsenceKind.OUT)
    show = Show.objects.get()
    version = ShowVersion.objects.create(show=show, label="one", order=1)
    for order in range(1, 5):
        DrillSet.objects.create(version=version, order=order, label=str(order), counts=8)
    for name, spot in ((GUS, "1-3"), (KIT, "2-2")):
        Practice.objects.create(member=out.members[name], spot=out.spots[spot], show=show, sets=4)
    return out


def test_the_list_of_changes_names_who_took_the_spot(
    chain: Band, cast: Cast, signed_in: SignIn
) -> None:
    """Gus, who marches 2-2, moves to 1-3; Kit takes 2-2."""
    ask(chain, cast, wish(chain, CAI, KIT, mover=GUS))
    page = text(signed_in(cast.staff).get(reverse("desk-of", args=[chain.event.pk])))
    assert f"{CAI} out, {GUS} moves to 1-3, {KIT} steps in at 2-2" in page


def test_a_request_whose_stand_in_is_out_by_now_cannot_be_approved(
    out: Band, cast: Cast, signed_in: SignIn
) -> None:
    cut_off = timezone.now() - datetime.timedelta(hours=1)
    Event.objects.filter(pk=out.event.pk).update(cut_off=cut_off)
    form = {"out": out.members[CAI].pk, "in": out.members[JON].pk, "number": 1}
    signed_in(cast.staff).post(reverse("desk-fill", args=[out.event.pk]), form)
    assert FillRequest.objects.count() == 1
    director, url = signed_in(cast.director), reverse("desk-of", args=[out.event.pk])
    assert "Approve and publish" in text(director.get(url))
    Absence.objects.create(member=out.members[JON], event=out.event, kind=AbsenceKind.OUT)
    page = text(director.get(url))
    assert "Approve and publish" not in page and ">Decline</button>" in page
    assert f"{JON} can't march there anymore: decline it" in page


def test_a_waiting_report_about_somebody_who_left_says_so(
    out: Band, cast: Cast, signed_in: SignIn
) -> None:
    Member.objects.filter(pk=out.members[CAI].pk).update(status=MemberStatus.ON_LEAVE)
    form = {"member": out.members[CAI].pk, "kind": "out", "event": out.event.pk}
    page = text(signed_in(cast.leader).post(reverse("rank-report"), form))
    assert "they have left, are on leave, or are in another rank now" in page


def test_an_open_spot_by_a_chain_is_told_as_one(chain: Band, cast: Cast, signed_in: SignIn) -> None:
    ask(chain, cast, wish(chain, CAI, None))
    form = {
        "spot": chain.spots["1-3"].pk,
        "in": chain.members[KIT].pk,
        "mover": chain.members[GUS].pk,
        "number": 2,
    }
    url = reverse("desk-fill", args=[chain.event.pk])
    page = text(signed_in(cast.staff).post(url, form, follow=True))
    assert f"1-3: {GUS} moves, {KIT} steps in." in page


def test_who_was_noted_as_here_since_is_not_replaced(
    out: Band, cast: Cast, signed_in: SignIn
) -> None:
    """Said at 11:10 without network; the leader noted Cai as here at 11:20; it arrives at 11:30."""
    with clock(out, 11, 10):
        said = timezone.now().isoformat()
    with clock(out, 11, 20):
        note(signed_in(cast.leader), out.event, out, CAI, "late")
    form = {"out": out.members[CAI].pk, "in": out.members[JON].pk, "number": 1, "noted_at": said}
    url = reverse("desk-fill", args=[out.event.pk])
    with clock(out, 11, 30):
        staff = signed_in(cast.staff)
        told = staff.post(url, form, headers={"X-Queued": "later"}).json()
        assert "marked here later, at 11:20 AM: nobody moved" in told["text"]
        assert number(out) == 1 and out_of(out, CAI) == {"Pregame", "Halftime", "Stands"}
        page = text(staff.get(reverse("desk-of", args=[out.event.pk])))
        assert "Out, and still in the lineup" in page and "marked here" in page
        form |= {"noted_at": timezone.now().isoformat()}
        staff.post(url, form)
    assert (number(out), at(out, "Halftime", "1-3")) == (2, JON), "said again it is done"


def test_who_was_replaced_and_came_is_on_the_desk(out: Band, cast: Cast, signed_in: SignIn) -> None:
    with clock(out, 11, 5):
        ask(out, cast, wish(out, CAI, JON))
    with clock(out, 11, 20):
        staff = signed_in(cast.staff)
        note(staff, out.event, out, CAI, "present")
        url = reverse("desk-of", args=[out.event.pk])
        page = text(staff.get(url))
        assert f"{CAI} is marked here" in page and f"Put {CAI} back" not in page
        staff.post(reverse("desk-not-out", args=[out.event.pk, out.members[CAI].pk]))
        page = text(staff.get(url))
        assert f"{CAI} is back" in page and f"Put {CAI} back" in page


def test_a_request_that_is_of_no_use_any_more_says_why(
    out: Band, cast: Cast, signed_in: SignIn
) -> None:
    Event.objects.filter(pk=out.event.pk).update(cut_off=out.event.local(datetime.time(9)))
    url, desk = reverse("desk-fill", args=[out.event.pk]), reverse("desk-of", args=[out.event.pk])
    form = {"out": out.members[CAI].pk, "in": out.members[JON].pk, "number": 1}
    with clock(out, 11, 5):
        signed_in(cast.staff).post(url, form | {"segments": str(out.pregame.pk)})
        director = signed_in(cast.director)
        note(director, out.event, out, JON, "absent")
        page = text(director.get(desk))
        assert "Approve and publish" in page and f"{JON}: marked so at attendance." in page
    with clock(out, 11, 10):
        Absence.objects.filter(member=out.members[CAI]).delete()
        page = text(signed_in(cast.director).get(desk))
        assert f"{CAI} is not out anymore: decline it." in page
        assert "Approve and publish" not in page
    with clock(out, 15):
        page = text(signed_in(cast.director).get(desk))
        assert "Already over: too late to approve it." in page


def test_what_was_approved_is_listed_as_it_was_done(
    out: Band, cast: Cast, signed_in: SignIn
) -> None:
    """Asked for both segments, approved when pregame was over."""
    Event.objects.filter(pk=out.event.pk).update(cut_off=out.event.local(datetime.time(9)))
    form = {"out": out.members[CAI].pk, "in": out.members[JON].pk, "number": 1}
    with clock(out, 13):
        signed_in(cast.staff).post(reverse("desk-fill", args=[out.event.pk]), form)
    with clock(out, 15):
        director = signed_in(cast.director)
        asked = FillRequest.objects.get()
        assert len(asked.seats) == 2
        director.post(reverse("desk-request-approve", args=[asked.pk]))
        page = text(director.get(reverse("desk-of", args=[out.event.pk])))
    listed = page[page.index("What the director decided") :]
    listed = listed[: listed.index("</ul>")]
    assert "Halftime 1-3" in listed and "Pregame" not in listed


def test_nobody_is_told_of_what_is_over(out: Band, cast: Cast, signed_in: SignIn) -> None:
    with clock(out, 13):
        ask(out, cast, wish(out, CAI, JON))
        page = text(signed_in(cast.member).get(reverse("card")))
        assert "Pregame: you do not march" in page
    with clock(out, 15):
        page = text(signed_in(cast.member).get(reverse("card")))
        assert "Halftime: you do not march" in page and "Pregame: you do not" not in page


def test_taking_out_back_says_nothing_new_of_what_was_over_when_it_was_entered(
    out: Band, cast: Cast
) -> None:
    """A report for the whole event, made after pregame; then they are not out after all."""
    member = out.members[CAI]
    with clock(out, 15):
        Absence.objects.create(member=member, event=out.event, kind=AbsenceKind.OUT)
    with clock(out, 15, 5):
        not_out(actor=cast.staff, event=out.event, member=member)
    assert out_of(out, CAI) == set()
