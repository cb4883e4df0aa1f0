"""A notice is sent once a mail server took it; those that reached nobody are sent again."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest
from django.core import mail
from django.test import Client
from django.urls import reverse
from pytest_django import DjangoCaptureOnCommitCallbacks

from bandops.lib.accounts.models import User
from drill.lineup.models import Lineup
from drill.lineup.services.drafts import open_draft
from drill.publishing.enums import NoticeState
from drill.publishing.queries import unreached
from roster.people.models import Person
from tests.answers import text
from tests.drill.publishing.publishing_help import publish
from tests.factories import Band, Cast

pytestmark = [pytest.mark.django_db, pytest.mark.postgres("notices are locked")]
SignedIn = Callable[[User | None], Client]
Committing = DjangoCaptureOnCommitCallbacks
CONSOLE = "django.core.mail.backends.console.EmailBackend"


@pytest.fixture
def unset(
    band: Band, cast: Cast, settings: Any, django_capture_on_commit_callbacks: Committing
) -> Lineup:
    """Published while mail was not set up, and set up since."""
    before, settings.EMAIL_BACKEND = settings.EMAIL_BACKEND, CONSOLE
    with django_capture_on_commit_callbacks(execute=True):
        lineup = publish(band, cast)
    settings.EMAIL_BACKEND = before
    return lineup


def states(lineup: Lineup) -> set[str]:
    return set(lineup.notices.values_list("state", flat=True))


def again(client: Client, lineup: Lineup, **data: object) -> str:
    return text(client.post(reverse("notices-again", args=[lineup.pk]), data, follow=True))


def test_no_notice_is_sent_where_mail_is_not_set_up(unset: Lineup) -> None:
    assert states(unset) == {NoticeState.NOT_REACHED}
    assert not unset.notices.filter(sent_at__isnull=False).exists()


def test_all_that_reached_nobody_are_sent_again(
    unset: Lineup, cast: Cast, signed_in: SignedIn, django_capture_on_commit_callbacks: Committing
) -> None:
    Person.objects.filter(legal_name="Bo Larkspur").update(email="")
    staff = signed_in(cast.staff)
    assert "Mail all 8 again" in text(staff.get(reverse("revision", args=[unset.pk])))
    with django_capture_on_commit_callbacks(execute=True):
        said = again(staff, unset)
    assert "7 notices will be emailed again." in said
    assert len(mail.outbox) == 7
    assert [n.member.name for n in unreached(unset)] == ["Bo Larkspur"], "there is no address"


def test_one_is_sent_again_alone_and_twice_if_it_failed_twice(
    unset: Lineup, cast: Cast, signed_in: SignedIn, django_capture_on_commit_callbacks: Committing
) -> None:
    notice = unset.notices.get(member__person__legal_name="Hal Brook")
    staff = signed_in(cast.staff)
    for turn in (1, 2):
        with django_capture_on_commit_callbacks(execute=True):
            again(staff, unset, notice=notice.pk)
        assert len(mail.outbox) == turn
        notice.refresh_from_db()
        assert notice.state == NoticeState.SENT
        unset.notices.filter(pk=notice.pk).update(state=NoticeState.NOT_REACHED)


def test_where_mail_is_not_set_up_sending_again_says_so(
    unset: Lineup, cast: Cast, signed_in: SignedIn, settings: Any
) -> None:
    settings.EMAIL_BACKEND = CONSOLE
    staff = signed_in(cast.staff)
    assert "Email is not set up" in again(staff, unset)
    assert states(unset) == {NoticeState.NOT_REACHED}


def test_what_was_told_in_person_is_not_mailed_again(
    unset: Lineup, cast: Cast, signed_in: SignedIn
) -> None:
    unset.notices.update(state=NoticeState.TOLD)
    said = again(signed_in(cast.staff), unset)
    assert "Nobody here has an email address" in said


@pytest.mark.parametrize("name", ["publish", "revision", "set-up", "invitations", "sign-in"])
def test_pages_that_send_say_that_mail_is_not_set_up(
    unset: Lineup, cast: Cast, signed_in: SignedIn, settings: Any, name: str
) -> None:
    arguments = {"publish": [unset.event_id], "revision": [unset.pk]}
    url = reverse(name, args=arguments.get(name, []))
    open_draft(actor=cast.staff, event=unset.event)
    staff = signed_in(cast.staff)
    said = "no link is sent" if name == "sign-in" else "no email leaves this site"
    assert said not in text(staff.get(url))
    settings.EMAIL_BACKEND = CONSOLE
    assert said in text(staff.get(url))
