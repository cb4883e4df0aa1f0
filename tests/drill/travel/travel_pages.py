"""The travel list's pages of the small band."""

from __future__ import annotations

import html
from collections.abc import Callable

from django.test import Client
from django.urls import reverse

from bandops.lib.accounts.models import User
from tests.factories import Band

SignedIn = Callable[[User | None], Client]


def text_of(client: Client, name: str, *args: object) -> str:
    return html.unescape(client.get(reverse(name, args=args)).content.decode())


def limit(band: Band, most: int | None) -> None:
    band.event.travel_limit = most
    band.event.save()
