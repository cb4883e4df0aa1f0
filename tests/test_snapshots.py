"""What a test commits is gone for the next one, and a world to commit to is built once."""

from __future__ import annotations

from pathlib import Path

import pytest
from django.conf import settings
from django.contrib.contenttypes.models import ContentType

from bandops.lib.audit.models import AuditEntry
from roster.people.models import Season
from tests.snapshots import Once, can_be_copied, emptier

pytestmark = [
    pytest.mark.django_db(transaction=True),
    pytest.mark.postgres("it is emptied by statements, SQLite by a copy"),
]
A_YEAR = {"name": "2101", "starts": "2101-08-01", "ends": "2101-12-01"}


@pytest.mark.parametrize("_again", range(2))
def test_each_test_begins_empty(_again: int) -> None:
    assert not Season.objects.exists() and not AuditEntry.objects.exists()
    assert ContentType.objects.exists()
    Season.objects.create(**A_YEAR)


def test_numbers_begin_anew() -> None:
    """Emptied here, since a test that PostgreSQL rolled back before has used some up."""
    empty = emptier()
    for _ in range(2):
        Season.objects.create(**A_YEAR)
        empty()
    assert Season.objects.create(**A_YEAR).pk == 1


def test_a_world_is_built_once_and_put_back_as_it_was(
    tmp_path_factory: pytest.TempPathFactory,
) -> None:
    empty = emptier()
    once, built = Once(tmp_path_factory.mktemp("once")), []
    kept = Path(settings.MEDIA_ROOT) / "a" / "file.txt"

    def build() -> Season:
        built.append("season")
        kept.parent.mkdir(exist_ok=True)
        kept.write_text("as it was")
        return Season.objects.create(**A_YEAR)

    for _ in range(3):
        season = once.world("a season", build)
        assert Season.objects.get().name == season.name == "2101"
        assert kept.read_text() == "as it was"
        assert AuditEntry.objects.count() == 1
        season.name = "another"
        season.save()
        kept.write_text("something else")
        empty()
    assert len(built) == (1 if can_be_copied() else 3)
