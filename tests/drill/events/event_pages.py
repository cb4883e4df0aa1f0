"""Moments out of reach, and what a form says of them."""

from __future__ import annotations

import pytest
from django.test import Client

from tests.answers import Response
from tests.architecture.world import client_of
from tests.factories import Cast

FAR = [
    ("0001-01-01T00:00", "America/Chicago"),
    ("0001-01-01T00:00", "Asia/Tokyo"),
    ("9999-12-31T23:59", "America/Chicago"),
    ("9999-12-31T23:59", "Asia/Tokyo"),
]


@pytest.fixture
def staff(cast: Cast) -> Client:
    return client_of(cast, "staff")


def errors(response: Response) -> dict[str, list[str]]:
    """The messages of the page's form, by field."""
    assert response.status_code == 200
    return dict(response.context["form"].errors)
