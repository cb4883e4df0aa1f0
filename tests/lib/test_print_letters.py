"""Letters that no font has, and what to install."""

from __future__ import annotations

import shutil
import subprocess
from collections.abc import Iterator

import pytest
from django.urls import reverse

from bandops.lib.pdf import letters
from roster.people.services.printable import lacking_letters
from tests.architecture.world import publish
from tests.architecture.world.visits import client_of
from tests.factories import Band, Cast


class NoFonts:
    def has(self, code: int) -> bool:
        return False


@pytest.fixture
def bare(monkeypatch: pytest.MonkeyPatch) -> Iterator[None]:
    """A machine with our own font alone."""
    monkeypatch.setattr(letters, "_fonts", NoFonts)
    letters.can_show.cache_clear()
    yield
    letters.can_show.cache_clear()


@pytest.mark.usefixtures("bare")
def test_our_own_font_has_the_letters_of_europe_and_vietnam() -> None:
    names = ("Nguyễn Thị Ánh Tuyết", "Łukasz Żółkiewski", "Ευρυδίκη Παππά", "Дарья Щукина")
    assert letters.lacking([*names, "Bo\u00a0Ó\u200bBriain"]) is None


@pytest.mark.usefixtures("bare")
@pytest.mark.parametrize(
    ("name", "lacks", "package"),
    [
        ("Lin 林小林", "林小", "fonts-noto-cjk"),
        ("김서연", "김서연", "fonts-noto-cjk"),
        ("さくら", "さくら", "fonts-noto-cjk"),
        ("ليلى", "ليى", "fonts-noto-core"),
        ("आशा", "आशा", "fonts-noto-core"),
        ("Bo 🎺", "🎺", "fonts-noto-color-emoji"),
    ],
)
def test_what_no_font_has_is_named_with_its_package(name: str, lacks: str, package: str) -> None:
    found = letters.lacking(["Ana Núñez", name])
    assert found is not None
    assert found.names == (letters.Unprintable(name, lacks),)
    assert found.packages == (package,)


@pytest.mark.skipif(shutil.which("fc-list") is None, reason="no fc-list to compare with")
@pytest.mark.parametrize("letter", "Aж林김あאلआ🎺ꙮ")
def test_the_fonts_of_the_machine_are_read_as_fontconfig_has_them(letter: str) -> None:
    command = ["fc-list", f":charset={ord(letter):x}", "family"]
    listed = subprocess.run(command, capture_output=True, check=True).stdout.strip()
    assert letters._fonts().has(ord(letter)) is bool(listed)


@pytest.mark.django_db
@pytest.mark.usefixtures("bare")
def test_pages_that_offer_prints_warn_before(band: Band, cast: Cast) -> None:
    person = band.members["Ana Núñez"].person
    lineup = publish(band, cast.staff)
    staff, url = client_of(cast, "staff"), reverse("revision", args=[lineup.pk])
    assert "cannot be printed" not in staff.get(url).content.decode()
    person.used_name = "林小雨"
    person.save()
    page = staff.get(url).content.decode()
    assert "“林小雨” of <strong>林小雨</strong>" in page and "install fonts-noto-cjk" in page


@pytest.mark.django_db
@pytest.mark.usefixtures("bare")
def test_asking_reads_the_names_once(band: Band, django_assert_num_queries: object) -> None:
    with django_assert_num_queries(1):  # type: ignore[operator]
        assert lacking_letters(band.season) is None
