"""One-time links: not too many of them."""

from __future__ import annotations

import pytest
from django.core import mail

from bandops.lib.accounts.links import MOST_LINKS, send_sign_in_link
from tests.factories import Cast

pytestmark = pytest.mark.django_db


def test_nobodys_mailbox_is_flooded(cast: Cast) -> None:
    for _ in range(MOST_LINKS + 3):
        send_sign_in_link(cast.member.email.upper())
    assert len(mail.outbox) == MOST_LINKS
    send_sign_in_link(cast.staff.email)
    assert mail.outbox[-1].to == [cast.staff.email]


def test_an_unknown_address_gets_nothing(cast: Cast) -> None:
    send_sign_in_link("nobody@else.example")
    assert mail.outbox == []
