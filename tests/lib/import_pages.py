"""Files of members, good and bad, on the import's pages."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from django.test import Client

from bandops.lib.accounts.models import User
from tests.factories import Cast

SignedIn = Callable[[User | None], Client]
GOOD_MEMBERS = [
    ["student number", "legal name", "email", "years marched", "main part", "pronunciation"],
    ["007701", "Marisol Núñez", "marisol@quillwater.example", "3", "trumpet", "=HYPERLINK(1)"],
    ["1E5", "Søren van der Zandt", "soren@quillwater.example", "4", "clarinet", "@home"],
    ["5-11", "Quinn Fairweather", "", "1", "sousaphone", ""],
]


@pytest.fixture
def staff(cast: Cast, signed_in: SignedIn) -> Client:
    return signed_in(cast.staff)
