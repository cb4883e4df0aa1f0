"""A spot's own label on pages, in exports and in what is asked of the band."""

from __future__ import annotations

import re

import pytest
from django.test import Client
from django.urls import reverse

from bandops.lib.exports.kinds import all_exports
from drill.lineup.models import Backup, Lineup
from roster.ranks.models import Spot
from tests.drill.publishing.publishing_help import publish
from tests.drill.shows.show_pages import SignIn
from tests.factories import Band, Cast
from tests.lib.imports_help import words

pytestmark = pytest.mark.django_db
NUMBERED = re.compile(r"(?<![\d-])1-1(?![\d-])")


@pytest.fixture
def labelled(band: Band, cast: Cast) -> Band:
    """Spot 1-1 is called T12, has a backup and stands in a published lineup."""
    spot = band.spots["1-1"]
    Spot.objects.filter(pk=spot.pk).update(own_label="T12")
    Backup.objects.create(spot=spot, member=band.members["Ida Voss"], order=1)
    publish(band, cast)
    return band


@pytest.fixture
def staff(cast: Cast, signed_in: SignIn) -> Client:
    return signed_in(cast.staff)


def test_pages_write_it(labelled: Band, staff: Client) -> None:
    rank, spot = labelled.ranks["1"].pk, labelled.spots["1-1"].pk
    ana = labelled.members["Ana Núñez"].pk
    for address in (
        reverse("ranks"),
        reverse("rank", args=[rank]),
        reverse("spot", args=[spot]),
        reverse("member", args=[ana]),
        reverse("people"),
        reverse("revision", args=[Lineup.objects.get().pk]),
    ):
        text = re.sub(r"<[^>]*>", " ", words(staff.get(address)))
        assert "T12" in text, address
        assert not NUMBERED.search(text), address


def test_exports_write_it(labelled: Band) -> None:
    written = []
    for export in all_exports():
        _, rows = export.rows(labelled.season)
        cells = [str(cell) for row in rows for cell in row]
        assert not any(map(NUMBERED.fullmatch, cells)), export.name
        written += [export.name] * ("T12" in cells)
    assert {"ranks", "backups", "lineups"} <= set(written)


def test_the_search_finds_it(labelled: Band, staff: Client) -> None:
    for typed in ("T12", "t-12", "T 12"):
        assert "T12" in words(staff.get(reverse("search"), {"q": typed}))
