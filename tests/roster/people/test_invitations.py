"""Invitations are looked at first, and only what a mail server took counts as mailed."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest
from django.core import mail
from django.test import Client
from django.urls import reverse

from bandops.lib.accounts.models import User
from roster.people.models import Person
from tests.answers import text
from tests.factories import Band, Cast

pytestmark = pytest.mark.django_db
SignedIn = Callable[[User | None], Client]
CONSOLE = "django.core.mail.backends.console.EmailBackend"
PAGE = "invitations"


@pytest.fixture
def staff(cast: Cast, signed_in: SignedIn) -> Client:
    return signed_in(cast.staff)


def due(staff: Client) -> list[str]:
    page = staff.get(reverse(PAGE))
    return [m.name for m in page.context["guests"].due]


def send(staff: Client, band: Band, *names: str) -> str:
    ids = [band.members[name].pk for name in names]
    return text(staff.post(reverse(PAGE), {"member": ids}, follow=True))


def address(band: Band, name: str, email: str) -> None:
    Person.objects.filter(pk=band.members[name].person_id).update(email=email)


def test_looking_sends_nothing_and_says_who_gets_one_and_why_others_do_not(
    band: Band, cast: Cast, staff: Client
) -> None:
    address(band, "Bo Larkspur", "")
    address(band, "Dee Quill", cast.leader.email)
    User.objects.filter(pk=cast.member.pk).update(joined_at="2099-08-11T10:00Z")
    User.objects.filter(pk=cast.other.pk).update(invited_at="2099-08-11T10:00Z")
    page = text(staff.get(reverse(PAGE)))
    for words in (
        "1 have no email address",
        "1 have an address that belongs to another account",
        "1 were invited and have not signed in",
        "1 have already signed in",
        "Mail 7 invitations",
    ):
        assert words in page
    assert mail.outbox == [] and not User.objects.filter(email__startswith="eno").exists()


def test_those_who_were_looked_at_get_one_and_are_not_asked_again(
    band: Band, staff: Client
) -> None:
    assert "2 invitations mailed." in send(staff, band, "Eno Farrow", "Gus Tamm")
    assert [m.to for m in mail.outbox] == [
        ["eno.farrow@quillwater.example"],
        ["gus.tamm@quillwater.example"],
    ]
    assert "Eno Farrow" not in due(staff)


def test_the_first_of_two_with_one_address_has_it(band: Band, staff: Client) -> None:
    address(band, "Gus Tamm", "Eno.Farrow@quillwater.example")
    assert "Eno Farrow" in due(staff) and "Gus Tamm" not in due(staff)
    send(staff, band, "Eno Farrow", "Gus Tamm")
    assert len(mail.outbox) == 1


def test_chosen_by_hand_somebody_invited_before_gets_another(
    band: Band, cast: Cast, staff: Client
) -> None:
    User.objects.filter(pk=cast.other.pk).update(invited_at="2099-08-11T10:00Z")
    hal = band.members["Hal Brook"].pk
    assert "Hal Brook" not in due(staff)
    data = {"member": [hal], "what": "invite"}
    page = staff.post(reverse("people-bulk"), data, follow=True)
    assert [m.name for m in page.context["guests"].due] == ["Hal Brook"]
    assert mail.outbox == []


def test_nothing_is_called_mailed_where_mail_is_not_set_up(
    band: Band, staff: Client, settings: Any
) -> None:
    settings.EMAIL_BACKEND = CONSOLE
    assert "Email is not set up" in text(staff.get(reverse(PAGE)))
    said = send(staff, band, "Eno Farrow")
    assert "nothing was sent" in said and "mailed" not in said
    assert not User.objects.filter(invited_at__isnull=False).exists()
    said = text(staff.post(reverse("test-mail"), follow=True))
    assert "nothing was sent" in said and "A test email was sent" not in said


def test_where_the_server_fails_the_rest_waits_and_is_named(
    band: Band, staff: Client, monkeypatch: pytest.MonkeyPatch
) -> None:
    taken: list[str] = []

    def fails_at_the_second(subject: str, body: str, sender: None, to: list[str]) -> int:
        if taken:
            raise ConnectionRefusedError("no more today")
        taken.extend(to)
        return 1

    monkeypatch.setattr("bandops.lib.mail.send_mail", fails_at_the_second)
    said = send(staff, band, "Dee Quill", "Eno Farrow", "Gus Tamm")
    assert "1 invitation mailed." in said and "these wait: Dee Quill, Gus Tamm" in said
    assert "Dee Quill" in due(staff) and "Eno Farrow" not in due(staff)


def test_staff_mail_the_invitation_to_themselves_first(cast: Cast, staff: Client) -> None:
    staff.post(reverse("test-mail"), {"what": "invitation"})
    (sent,) = mail.outbox
    assert sent.to == [cast.staff.email] and "invites you" in sent.body
    assert "/link/" not in sent.body, "a test signs nobody in"


def test_a_role_says_whether_its_invitation_left(
    cast: Cast, signed_in: SignedIn, settings: Any
) -> None:
    director = signed_in(cast.director)
    form = {"email": "new@staff.example", "name": "New", "role": "staff", "invite": "on"}
    assert "An invitation was emailed." in text(director.post(reverse("roles"), form, follow=True))
    settings.EMAIL_BACKEND = CONSOLE
    again = form | {"email": "other@staff.example"}
    said = text(director.post(reverse("roles"), again, follow=True))
    assert "no invitation was sent" in said
    assert User.objects.get(email="other@staff.example").invited_at is None
