"""Staff at the pages of fundamentals."""

from __future__ import annotations

import pytest
from django.test import Client

from tests.conftest import BACKEND
from tests.factories import Cast

HOP = {"name": "hop", "also": ["hops"], "counts": 2, "path": [[0, 0.5]]}


@pytest.fixture
def staff(cast: Cast) -> Client:
    made = Client()
    made.force_login(cast.staff, backend=BACKEND)
    return made
