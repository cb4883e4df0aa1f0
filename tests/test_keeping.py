"""Shared worlds: built once, never altered by a test, gone when another world is asked for."""

from __future__ import annotations

from pathlib import Path

import pytest
from django.conf import settings

from bandops.lib.outbox.models import Artifact
from roster.people.models import Member, Season
from tests import keeping
from tests.architecture.world import make_file
from tests.factories import Band, Cast
from tests.keeping import Keeper, Layer, wanted

pytestmark = [
    pytest.mark.django_db,
    pytest.mark.postgres("savepoints inside one open transaction"),
]


@pytest.mark.parametrize("_again", range(2))
def test_what_a_test_changes_is_its_own(band: Band, _again: int) -> None:
    ana = band.members["Ana Núñez"]
    assert ana.phone == "" and not Member.objects.filter(phone="555-0100").exists()
    ana.phone = "555-0100"
    ana.save()
    band.members.clear()


def test_a_band_and_its_cast_are_one_world(band: Band, cast: Cast) -> None:
    assert cast.member.pk == band.members["Cai Ørnberg"].person.user_id
    assert cast.leader.person is band.members["Ana Núñez"].person


def test_who_asks_for_no_world_finds_none() -> None:
    assert not Season.objects.exists()


@pytest.fixture
def built(monkeypatch: pytest.MonkeyPatch) -> list[str]:
    """Three worlds beside the real ones; what is in here was built, in this order."""
    names: list[str] = []

    def season(made: keeping.Made) -> Season:
        names.append("season")
        return Season.objects.create(name="2101", starts="2101-08-01", ends="2101-12-01")

    def file(made: keeping.Made) -> Artifact:
        names.append("file")
        return make_file("lineup", "one")

    layers = {"season": Layer(season), "file": Layer(file, below="season"), "rest": Layer(file)}
    monkeypatch.setattr(keeping, "LAYERS", layers)
    return names


def test_worlds_stand_on_one_another_and_are_built_once(built: list[str]) -> None:
    keeper = Keeper()
    for names in (["season"], ["season", "file"], ["season", "file"], ["season"]):
        keeper.prepare(names)
        assert keeper.names == names and Season.objects.count() == 1
        assert Artifact.objects.exists() == ("file" in names)
    assert built == ["season", "file"]
    keeper.prepare(["rest"])
    assert not Season.objects.exists() and Artifact.objects.exists()
    keeper.end()
    assert not Artifact.objects.exists()


def test_copies_are_of_the_objects_as_they_were_built(built: list[str]) -> None:
    keeper = Keeper()
    keeper.prepare(["season"])
    keeper.copies()["season"].name = "changed"
    assert keeper.copies()["season"].name == "2101"
    keeper.end()


def test_files_of_a_world_stay_out_of_the_tests_own(built: list[str]) -> None:
    keeper, own = Keeper(), Path(settings.MEDIA_ROOT)
    keeper.prepare(["season", "file"])
    assert list(own.rglob("*.pdf")) == []
    keeping.copied(keeper.files, own)
    file = Artifact.objects.get().file
    assert file.read() == b"pdf" and Path(file.path).is_relative_to(own)
    keeper.end()


def test_a_world_that_cannot_be_built_leaves_nothing(built: list[str]) -> None:
    def broken(made: keeping.Made) -> None:
        Season.objects.create(name="2102", starts="2102-08-01", ends="2102-12-01")
        raise ZeroDivisionError

    keeping.LAYERS["broken"] = Layer(broken)
    keeper = Keeper()
    with pytest.raises(ZeroDivisionError):
        keeper.prepare(["broken"])
    assert keeper.names == [] and not Season.objects.exists()


def test_nobody_asks_for_two_worlds_at_once(built: list[str]) -> None:
    assert wanted(["file", "db"]) == ["season", "file"]
    assert wanted(["db"]) == []
    with pytest.raises(AssertionError, match="two worlds"):
        wanted(["file", "rest"])
