"""Signing in where no mail leaves: the page says what helps, and the server prints a link."""

from __future__ import annotations

import io
import re
from typing import Any

import pytest
from django.core.management import CommandError, call_command
from django.test import Client
from django.urls import reverse

from bandops.lib.audit.models import AuditEntry
from tests.architecture.world import client_of
from tests.factories import Cast

pytestmark = pytest.mark.django_db
MAIL = "You can always use an email link."
COMMAND = "python manage.py sign_in_link --email"


def refused() -> str:
    sent = {"how": "password", "address": "ana@example.org", "password": "wrong"}
    return Client().post(reverse("sign-in"), sent).content.decode()


def test_without_mail_the_page_names_a_director_and_the_command(cast: Cast, settings: Any) -> None:
    settings.EMAIL_HOST = ""
    page = refused()
    assert MAIL not in page and "Ask a director" in page and COMMAND in page
    assert COMMAND in Client().get(reverse("sign-in")).content.decode()


def test_the_set_up_page_names_the_command(cast: Cast, settings: Any) -> None:
    settings.EMAIL_HOST = ""
    assert COMMAND in client_of(cast, "director").get(reverse("set-up")).content.decode()


def test_with_mail_a_link_helps(cast: Cast, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("bandops.lib.mail.leaves", lambda: True)
    page = refused()
    assert MAIL in page and COMMAND not in page


def test_the_server_prints_a_link_that_works_once_and_notes_it(cast: Cast) -> None:
    out = io.StringIO()
    call_command("sign_in_link", "--email", cast.member.email.upper(), stdout=out)
    found = re.search(r"https?://[^/]+(/\S+)", out.getvalue())
    assert found is not None and cast.member.name in out.getvalue()
    client = Client()
    assert client.post(found[1]).status_code == 302
    assert client.session["_auth_user_id"] == str(cast.member.pk)
    entry = AuditEntry.objects.get(action="look at a sign-in link on the server")
    assert (entry.actor_label, entry.row_id) == ("the system", str(cast.member.pk))
    assert Client().post(found[1]).status_code == 410


def test_no_link_is_printed_without_an_account(cast: Cast) -> None:
    cast.other.is_active = False
    cast.other.save()
    for address in ("nobody@else.example", cast.other.email):
        with pytest.raises(CommandError, match="No account in use has the address"):
            call_command("sign_in_link", "--email", address, stdout=io.StringIO())
    assert not AuditEntry.objects.filter(op=AuditEntry.Op.VIEW).exists()
