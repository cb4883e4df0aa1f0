"""Ways into the site, as tests take them."""

from __future__ import annotations

import html
import re
from typing import Any

from django.conf import settings
from django.core import mail
from django.test import Client, TestCase
from django.urls import reverse

from bandops.lib.accounts.models import User
from tests.answers import Response
from tests.reading import steady

PASSWORD = "seven quiet cornets at dawn"
ELSEWHERE = (
    "https://elsewhere.example/",
    "//elsewhere.example/",
    "javascript:alert(1)",
    r"\\elsewhere.example",
    "https:elsewhere.example",
    "/\\elsewhere.example",
)


def set_password(user: User) -> None:
    user.set_password(PASSWORD)
    user.save()


def entered(address: str, password: str) -> Response:
    data = {"how": "password", "address": address, "password": password}
    return Client().post(reverse("sign-in"), data)


def signed_in_from(client: Client, user: User, where: str) -> Any:
    """Follow the way to sign in, and what comes after it."""
    page = client.get(where).content.decode()
    assert "You were signed out, so what you sent was not saved." in page
    [then] = re.findall(r'name="next" value="([^"]*)"', page)
    data = {"how": "password", "address": user.email, "password": PASSWORD}
    return client.post(reverse("sign-in"), data | {"next": html.unescape(then)}, follow=True)


def path_of(link: str) -> str:
    return link.removeprefix(settings.SITE_URL)


def ask_for_link(address: str, **headers: str) -> Response:
    """Ask, and let the job that mails it run."""
    with TestCase.captureOnCommitCallbacks(execute=True):
        data = {"how": "link", "email": address}
        return Client().post(reverse("sign-in"), data, headers=headers)


def mailed_link(address: str) -> str:
    ask_for_link(address)
    found = re.search(r"https?://\S+", str(mail.outbox[-1].body))
    assert found
    return path_of(found[0])


def without_tokens(response: Response, address: str) -> str:
    """The page's text without what differs anyway."""
    return steady(response.content.decode().replace(address, ""))
