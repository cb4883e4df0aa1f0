"""Whoever came off or on a posted travel list is told; a lowered limit is a line on This week."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest
from django.core import mail
from django.test import Client
from django.urls import reverse
from pytest_django import DjangoCaptureOnCommitCallbacks

from bandops.lib.accounts.models import User
from drill.publishing.enums import NoticeState
from drill.travel.models import TravelNotice
from drill.travel.services import travel
from roster.people.models import Person
from tests.answers import text
from tests.drill.leaving.leavers import on_leave, stands
from tests.drill.travel.travelling import add, limit, make, out, post, publish, remove
from tests.factories import Band, Cast

pytestmark = [pytest.mark.django_db, pytest.mark.postgres("rows are locked and counted")]
SignedIn = Callable[[User | None], Client]
Committing = DjangoCaptureOnCommitCallbacks


@pytest.fixture
def posted(band: Band, cast: Cast) -> Band:
    """Eleven travel; three of them march nowhere."""
    publish(band, cast)
    make(band, cast)
    post(band, cast)
    return band


def told(band: Band) -> dict[str, bool]:
    return {n.member.name: n.along for n in TravelNotice.objects.filter(event=band.event)}


def change(client: Client, band: Band, what: str, **data: object) -> str:
    where = reverse("travel-change", args=[band.event.pk])
    return text(client.post(where, {"what": what, **data}, follow=True))


def test_the_first_posting_is_read_on_the_cards(posted: Band) -> None:
    assert told(posted) == {}


def test_who_is_taken_off_gets_a_mail(
    posted: Band, cast: Cast, django_capture_on_commit_callbacks: Committing
) -> None:
    with django_capture_on_commit_callbacks(execute=True):
        remove(posted, cast, "Ida Voss")
    (sent,) = [m for m in mail.outbox if "travel list" in m.subject]
    assert sent.to == ["ida.voss@quillwater.example"]
    assert "You do not travel" in sent.body
    notice = TravelNotice.objects.get()
    assert notice.state == NoticeState.SENT and notice.sent_at is not None


def test_taken_off_and_put_on_again_before_a_mail_left_nobody_is_told(
    posted: Band, cast: Cast
) -> None:
    remove(posted, cast, "Ida Voss")
    add(posted, cast, "Ida Voss")
    assert told(posted) == {}


def test_who_was_told_and_comes_along_after_all_is_told_again(
    posted: Band, cast: Cast, django_capture_on_commit_callbacks: Committing
) -> None:
    for step in (remove, add):
        with django_capture_on_commit_callbacks(execute=True):
            step(posted, cast, "Ida Voss")
    assert "You travel" in mail.outbox[-1].body and told(posted) == {"Ida Voss": True}


def test_a_list_taken_back_made_anew_and_posted_tells_who_is_missing(
    posted: Band, cast: Cast
) -> None:
    travel.take_back(actor=cast.staff, event=posted.event)
    limit(posted, 9)
    make(posted, cast)
    assert told(posted) == {}, "a draft tells nobody"
    post(posted, cast)
    assert told(posted) == {"Jon Pell": False, "Kit Moss": False}


def test_who_is_not_cleared_any_more_is_told_and_who_is_on_leave_is_not_mailed(
    posted: Band, cast: Cast
) -> None:
    stands(posted, cast, "Cai Ørnberg", cleared="no")
    on_leave(posted, cast, "Hal Brook")
    assert told(posted) == {"Cai Ørnberg": False}


def test_whom_no_mail_reached_is_told_in_person_or_mailed_again(
    posted: Band, cast: Cast, signed_in: SignedIn, django_capture_on_commit_callbacks: Committing
) -> None:
    addresses = Person.objects.filter(legal_name__in=["Ida Voss", "Jon Pell"])
    addresses.update(email="")
    with django_capture_on_commit_callbacks(execute=True):
        for name in ("Ida Voss", "Jon Pell"):
            remove(posted, cast, name)
    staff = signed_in(cast.staff)
    page = text(staff.get(reverse("travel", args=[posted.event.pk])))
    assert "Mail all 2 not reached again" in page
    assert "Nobody here has an email address" in change(staff, posted, "mail again")
    ida = TravelNotice.objects.get(member=posted.members["Ida Voss"])
    assert "Ida Voss was told in person." in change(staff, posted, "told", notice=ida.pk)
    addresses.update(email="jon@quillwater.example")
    with django_capture_on_commit_callbacks(execute=True):
        assert "1 notice will be emailed again." in change(staff, posted, "mail again")
    assert mail.outbox[-1].to == ["jon@quillwater.example"]
    states = TravelNotice.objects.order_by("member_id").values_list("state", flat=True)
    assert set(states) == {NoticeState.TOLD, NoticeState.SENT}


def test_the_page_says_that_mail_is_not_set_up(
    posted: Band, cast: Cast, signed_in: SignedIn, settings: Any
) -> None:
    remove(posted, cast, "Ida Voss")
    settings.EMAIL_BACKEND = "django.core.mail.backends.console.EmailBackend"
    page = text(signed_in(cast.staff).get(reverse("travel", args=[posted.event.pk])))
    assert "no email leaves this site" in page


def test_a_lowered_limit_is_a_line_of_the_week(
    posted: Band, cast: Cast, signed_in: SignedIn
) -> None:
    staff, week = signed_in(cast.staff), reverse("week-of", args=[posted.event.pk])
    limit(posted, 11)
    assert "too many" not in text(staff.get(week))
    limit(posted, 9)
    page = text(staff.get(week))
    assert "2 too many" in page and "only 9 may travel" in page


def test_an_absence_alone_takes_nobody_off(posted: Band, cast: Cast) -> None:
    out(posted, cast, "Ida Voss")
    assert told(posted) == {}
