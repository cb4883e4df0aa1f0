"""One-time links: not too many of them, and nobody learns who has an account."""

from __future__ import annotations

from typing import Any

import pytest
from django.core import mail
from django.test import Client
from django.urls import reverse

from bandops.lib.accounts.links import ask_for_link
from bandops.lib.accounts.models import User
from bandops.lib.accounts.tries import MOST_LINKS, Origin
from bandops.lib.models import Job
from tests.factories import Cast

pytestmark = pytest.mark.django_db
STRANGER = Origin("203.0.113.9", "")


@pytest.fixture(autouse=True)
def _jobs(django_capture_on_commit_callbacks: Any, settings: Any) -> Any:
    """Jobs run when the request is over, as everywhere."""
    settings.JOBS_RUN_IN = "inline"


def ask(address: str, callbacks: Any, origin: Origin = STRANGER) -> None:
    with callbacks(execute=True):
        ask_for_link(address, origin)


def test_nobodys_mailbox_is_flooded(cast: Cast, django_capture_on_commit_callbacks: Any) -> None:
    for _ in range(MOST_LINKS + 3):
        ask(cast.member.email.upper(), django_capture_on_commit_callbacks)
    assert len(mail.outbox) == MOST_LINKS
    ask(cast.staff.email, django_capture_on_commit_callbacks)
    assert mail.outbox[-1].to == [cast.staff.email]


def test_an_unknown_address_gets_nothing_and_looks_the_same(
    cast: Cast, django_capture_on_commit_callbacks: Any
) -> None:
    ask("nobody@else.example", django_capture_on_commit_callbacks)
    assert mail.outbox == []
    job = Job.objects.get(kind="accounts.link")
    assert job.payload == {"user": None} and "nobody" not in job.key


def test_a_mail_server_in_trouble_tells_nobody_who_has_an_account(
    cast: Cast, settings: Any, django_capture_on_commit_callbacks: Any
) -> None:
    settings.EMAIL_BACKEND = "tests.lib.test_links.Broken"
    codes = set()
    for address in (cast.member.email, "nobody@else.example"):
        with django_capture_on_commit_callbacks(execute=True):
            answer = Client().post(reverse("sign-in"), {"how": "link", "email": address})
        codes.add((answer.status_code, "link is on its way" in answer.content.decode()))
    assert len(codes) == 1 and codes.pop()[0] == 200
    assert Job.objects.exclude(error="").count() == 1, "tried again later"


class Broken:
    """A mail server that refuses, with the address in its words."""

    def __init__(self, **options: Any) -> None:
        pass

    def send_messages(self, messages: list[Any]) -> int:
        raise OSError(f"no such user {messages[0].to}")


def test_a_site_without_mail_prints_no_link(
    cast: Cast, settings: Any, capsys: Any, django_capture_on_commit_callbacks: Any
) -> None:
    settings.EMAIL_BACKEND = "django.core.mail.backends.console.EmailBackend"
    settings.MAIL_IS_SHOWN = False
    ask(cast.member.email, django_capture_on_commit_callbacks)
    assert "/link/" not in capsys.readouterr().out
    settings.MAIL_IS_SHOWN = True
    ask(cast.staff.email, django_capture_on_commit_callbacks)
    assert "/link/" in capsys.readouterr().out, "a demo shows it"


def test_a_closed_account_gets_no_link(cast: Cast, django_capture_on_commit_callbacks: Any) -> None:
    User.objects.filter(pk=cast.member.pk).update(is_active=False)
    ask(cast.member.email, django_capture_on_commit_callbacks)
    assert mail.outbox == []
