"""Fixtures of all tests."""

from __future__ import annotations

import gc
import os
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
from django.core.cache import cache
from django.test import Client, TransactionTestCase, override_settings
from pytest_django import DjangoDbBlocker

from bandops.lib.accounts import sessions
from bandops.lib.accounts.models import User
from tests.examples import load_profile
from tests.factories import Band, Cast, make_band, make_cast
from tests.keeping import LAYERS, Keeper, Layer, Made, chain, copied, wanted
from tests.snapshots import emptier

os.environ.setdefault("DJANGO_ALLOW_ASYNC_UNSAFE", "1")
BACKEND = "django.contrib.auth.backends.ModelBackend"
LAYERS["kept_band"] = Layer(lambda made: make_band())
LAYERS["kept_cast"] = Layer(lambda made: make_cast(made["kept_band"]), below="kept_band")
ENDINGS: list[Callable[[], None]] = []
"""takes back the worlds that stand in this process"""
load_profile()


def pytest_collection_finish() -> None:
    """What is loaded by now stays: not looking for rubbish in it saves a third of the time."""
    gc.freeze()
    gc.set_threshold(100_000, 20, 20)


@pytest.fixture(scope="session")
def emptied(django_db_setup: None, django_db_blocker: DjangoDbBlocker) -> Iterator[None]:
    """After a test that commits the database is as empty as it is now."""
    with django_db_blocker.unblock():
        empty = emptier()
    case: Any = TransactionTestCase
    original = case._fixture_teardown
    case._fixture_teardown = lambda _: empty()
    yield
    case._fixture_teardown = original


@pytest.fixture(scope="session")
def keeper(django_db_setup: None, django_db_blocker: DjangoDbBlocker) -> Iterator[Keeper]:
    """The worlds that tests share."""
    made = Keeper()

    def take_back() -> None:
        with django_db_blocker.unblock():
            made.prepare([])

    ENDINGS.append(take_back)
    yield made
    ENDINGS.remove(take_back)
    with django_db_blocker.unblock():
        made.end()


@pytest.hookimpl(tryfirst=True)
def pytest_runtest_setup(item: pytest.Item) -> None:
    """A browser brings an event loop, under which Django knows another connection: the worlds
    are taken back before it starts."""
    if item.get_closest_marker("browser") is not None:
        for take_back in ENDINGS:
            take_back()


@pytest.hookimpl(tryfirst=True)
def pytest_fixture_setup(
    fixturedef: pytest.FixtureDef[object], request: pytest.FixtureRequest
) -> None:
    """Before a test's own transaction begins, let the worlds stand that it asks for."""
    if fixturedef.argname != "_django_db_helper":
        return
    marker = request.node.get_closest_marker("django_db")
    commits = {"transactional_db", "live_server"} & set(request.fixturenames)
    if commits or (marker is not None and marker.kwargs.get("transaction")):
        names = []
    else:
        names = wanted(request.fixturenames)
    request.getfixturevalue("emptied")
    keeper: Keeper = request.getfixturevalue("keeper")
    blocker: DjangoDbBlocker = request.getfixturevalue("django_db_blocker")
    with blocker.unblock():
        keeper.prepare(names)


class Kept:
    """What a test has of the shared worlds: copies, or worlds of its own where it commits."""

    def __init__(self, keeper: Keeper) -> None:
        self._made: Made = keeper.copies()
        self.files = keeper.files

    def __getitem__(self, name: str) -> object:
        for each in chain(name):
            if each not in self._made:
                self._made[each] = LAYERS[each].build(self._made)
        return self._made[name]


@pytest.fixture
def kept_worlds(db: None, keeper: Keeper, _own_media: Path) -> Kept:
    """This test's share of the worlds."""
    made = Kept(keeper)
    copied(made.files, _own_media)
    return made


@pytest.fixture(autouse=True)
def _own_media(tmp_path: Path) -> Iterator[Path]:
    """Each test keeps its files to itself: said aloud, or the storage stays where it was first."""
    with override_settings(MEDIA_ROOT=tmp_path):
        yield tmp_path


@pytest.fixture(autouse=True)
def _empty_cache() -> None:
    """No test counts what another one did."""
    cache.clear()


@pytest.fixture(autouse=True)
def _sign_ins_last(monkeypatch: pytest.MonkeyPatch) -> None:
    """Tests move the clock by weeks with somebody signed in; how long that lasts is tried in
    ``tests/architecture/test_sessions``, which has a fixture of this name that changes nothing."""
    for name in ("GUARDED_IDLE", "GUARDED_WHOLE", "OTHERS_WHOLE"):
        monkeypatch.setattr(sessions, name, float("inf"))


@pytest.fixture
def kept_band(kept_worlds: Kept) -> object:
    """Stands below what a test calls ``band``; a file may have a band of its own instead."""
    return kept_worlds["kept_band"]


@pytest.fixture
def kept_cast(kept_band: Band, kept_worlds: Kept) -> object:
    return kept_worlds["kept_cast"]


@pytest.fixture
def band(kept_band: Band) -> Band:
    return kept_band


@pytest.fixture
def cast(band: Band, kept_cast: Cast) -> Cast:
    return kept_cast


@pytest.fixture
def signed_in() -> Callable[[User | None], Client]:
    """A client signed in as an account."""

    def client(user: User | None) -> Client:
        made = Client()
        if user is not None:
            made.force_login(user, backend=BACKEND)
        return made

    return client
