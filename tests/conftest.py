"""Fixtures of all tests."""

from __future__ import annotations

import os
from collections.abc import Callable, Iterator

import pytest
from django.conf import settings
from django.core.cache import cache
from django.test import Client, TransactionTestCase

from bandops.lib.accounts.models import User
from bandops.lib.audit.recording import unlocked
from tests.factories import Band, Cast, make_band, make_cast

os.environ.setdefault("DJANGO_ALLOW_ASYNC_UNSAFE", "1")
BACKEND = "django.contrib.auth.backends.ModelBackend"


@pytest.fixture(autouse=True, scope="session")
def _flush_may_empty_the_audit() -> Iterator[None]:
    """Tests that commit empty all tables afterwards, the append-only audit included."""
    original = TransactionTestCase._fixture_teardown

    def teardown(self: TransactionTestCase) -> None:
        with unlocked():
            original(self)

    TransactionTestCase._fixture_teardown = teardown
    yield
    TransactionTestCase._fixture_teardown = original


@pytest.fixture(autouse=True)
def _own_media(tmp_path: object) -> Iterator[None]:
    """Each test keeps its files to itself."""
    before = settings.MEDIA_ROOT
    settings.MEDIA_ROOT = tmp_path
    yield
    settings.MEDIA_ROOT = before


@pytest.fixture(autouse=True)
def _empty_cache() -> None:
    """No test counts what another one did."""
    cache.clear()


@pytest.fixture
def band(db: None) -> Band:
    return make_band()


@pytest.fixture
def cast(band: Band) -> Cast:
    return make_cast(band)


@pytest.fixture
def signed_in() -> Callable[[User | None], Client]:
    """A client signed in as an account."""

    def client(user: User | None) -> Client:
        made = Client()
        if user is not None:
            made.force_login(user, backend=BACKEND)
        return made

    return client
