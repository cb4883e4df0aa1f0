"""A database of each released version can be brought up to date, and nothing in it is lost."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from django.core.management import call_command
from django.db import connection
from django.test import Client
from django.urls import reverse

from bandops.env import ROOT
from bandops.lib.accounts.models import User
from drill.fundamentals.core import load
from drill.fundamentals.core.words import read_words
from drill.fundamentals.services.fundamentals import fundamentals_of
from roster.people.models import RoleGrant, Season
from tests.answers import Response
from tests.conftest import BACKEND
from tests.upgrades import kept

ROWS = "fundamentals.Fundamental"
RELEASES = [pytest.param(path, id=path.stem) for path in kept.releases()]

pytestmark = [
    pytest.mark.walk,
    pytest.mark.postgres("each database alters its tables in its own way"),
]


def test_every_release_is_kept() -> None:
    heads = [
        line.split()[1]
        for line in (ROOT / "deploy" / "CHANGELOG.md").read_text(encoding="utf-8").splitlines()
        if line.startswith("## ")
    ]
    assert sorted(heads) == [path.stem for path in kept.releases()]


@pytest.mark.parametrize("path", RELEASES)
def test_released_migrations_stay_as_they_are(path: Path) -> None:
    now = kept.hashes()
    for name, known in kept.read(path)["files"].items():
        assert now.get(name) == known, f"{name} was released: add a migration instead"


@pytest.mark.django_db(transaction=True)
@pytest.mark.parametrize("path", RELEASES)
def test_a_released_database_is_brought_up_to_date(path: Path) -> None:
    released = kept.read(path)
    try:
        kept.put_back(released)
    finally:
        call_command("migrate", verbosity=0)
    connection.check_constraints()
    found = kept.counts()
    assert {label: found[label] for label in released["rows"]} == {
        label: len(rows) for label, rows in released["rows"].items()
    }
    assert _week_of_the_director().status_code == 200


@pytest.mark.django_db(transaction=True)
def test_bands_keep_the_movements_that_everybody_had() -> None:
    """Words and sequences mean what they meant, and a way of the band's own stays as it is."""
    released = kept.read(kept.FOLDER / "0.2.0.json")
    (season,) = released["rows"]["people.Season"]
    own = {"code": "spin-turn", "name": "whirl", "counts": 4, "turn": 270}
    row = {"id": 1, "season_id": season["id"], "code": own["code"], "name": own["name"]}
    try:
        kept.put_back(released | {"rows": released["rows"] | {ROWS: [row | {"definition": own}]}})
    finally:
        call_command("migrate", verbosity=0)
    found = fundamentals_of(Season.objects.get())
    had = (kept.FOLDER / "had" / "fundamentals.json").read_text(encoding="utf-8")
    before = load(json.loads(had)) | {"spin-turn": load([own])["spin-turn"]}
    assert {code: found[code] for code in before} == before
    assert found.keys() == before.keys(), "and no others"
    assert read_words("box to the rear, horn slide left 8, whirl", found)


def _week_of_the_director() -> Response:
    director = User.objects.get(pk=RoleGrant.objects.filter(role="director").latest("pk").user_id)
    client = Client()
    client.force_login(director, backend=BACKEND)
    return client.get(reverse("week"))


@pytest.mark.django_db
def test_tables_and_migrations_agree() -> None:
    call_command("makemigrations", "--check", "--dry-run", verbosity=0)
