"""What the search page of the small band shows."""

from __future__ import annotations

import html
import re

import pytest
from django.test import Client
from django.urls import reverse

from tests.architecture.world import publish
from tests.factories import Band, Cast

ROW = re.compile(r'<li>(?:<a href="([^"]*)">|<strong>)(.*?)</(?:a|strong)>(.*?)</li>', re.S)


def text_of(client: Client, typed: str) -> str:
    response = client.get(reverse("search"), {"q": typed})
    assert response.status_code == 200
    return html.unescape(response.content.decode())


def rows(client: Client, typed: str) -> dict[str, str]:
    """What is found -> where it leads; the labels of things must differ."""
    main = text_of(client, typed).partition("<main")[2]
    return {label: url for url, label, _ in ROW.findall(main)}


@pytest.fixture
def published(band: Band, cast: Cast) -> Band:
    """Hal's seat was given to nobody else: everybody stands at home."""
    publish(band, cast.staff)
    return band
