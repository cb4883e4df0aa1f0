"""The confirmed marching record: corrections, who sees which turns, shares."""

from __future__ import annotations

import re

import pytest
from django.urls import reverse

from drill.lineup.models import Lineup
from drill.record.models import MarchingRecord, RecordEntry
from tests.answers import text
from tests.drill.record.record_pages import _sunday, client, fields, lineup, url
from tests.factories import Band, Cast
from tests.reading import steady

__all__ = ["_sunday", "lineup"]

pytestmark = pytest.mark.django_db


@pytest.fixture
def record(band: Band, cast: Cast, lineup: Lineup) -> MarchingRecord:
    staff = client(cast.staff)
    staff.post(url(band), fields(text(staff.get(url(band)))) | {"confirm": "1"})
    return MarchingRecord.objects.get()


def test_a_correction_shows_both_to_staff_and_to_the_member(
    band: Band, cast: Cast, record: MarchingRecord
) -> None:
    entry = RecordEntry.objects.get(segment=band.pregame, member=band.members["Cai Ørnberg"])
    address = reverse("record-entry", args=[entry.pk])
    director = client(cast.director)
    data = {"outcome": "marched", "spot": band.spots["1-3"].pk}
    assert "required" in text(director.post(address, data)), "never without a reason"
    assert director.post(address, data | {"note": "came after all"}).status_code == 302
    assert "already" in text(director.post(address, data | {"note": "came after all"}))
    for page in (
        text(client(cast.staff).get(url(band))),
        text(client(cast.member).get(reverse("my-record"))),
    ):
        assert "marched 1-3" in page
        assert "first entered: was placed, did not march. came after all" in page
        assert "Director, Sun, Oct 18" in page


def test_members_see_their_own_record_only(band: Band, cast: Cast, record: MarchingRecord) -> None:
    """Cai missed both segments and so had no chance; Hal marched both."""
    cai = text(client(cast.member).get(reverse("my-record")))
    assert cai.count("was placed, did not march") == 2 and "Nothing is confirmed yet" in cai
    hal = steady(text(client(cast.other).get(reverse("my-record"))))
    assert "You marched 2 of the 2 segments you were there for: 100 percent." in hal
    assert "Cai" not in hal and "1-3" not in hal
    for user in (cast.leader, cast.member, cast.equipment, cast.evaluator):
        assert client(user).get(url(band)).status_code == 403
        assert client(user).get(reverse("record")).status_code == 403


def test_shares_are_sorted_and_exported(band: Band, cast: Cast, record: MarchingRecord) -> None:
    staff = client(cast.staff)

    def order(sort: str) -> list[str]:
        page = text(staff.get(reverse("record"), {"sort": sort}))
        shares = page[page.index("Member by member") :]
        return list(re.findall(r'<th scope="row"><a [^>]*>([^<]*)', shares))

    assert order("")[:2] == ["Fay Ashgrove", "Hal Brook"]
    rising, falling = order("percent"), order("-percent")
    assert set(rising[:4]) == {"Cai Ørnberg", "Ida Voss", "Jon Pell", "Kit Moss"}
    assert set(falling[-4:]) == set(rising[:4])
    table = text(staff.get(reverse("export", args=["record-shares", "csv"])))
    hal = next(line for line in table.splitlines() if "Hal Brook" in line)
    assert hal.endswith("Hal Brook,2,0,0,2,100")
    lines = text(staff.get(reverse("export", args=["marching-record", "csv"])))
    assert lines.count("missed") == 4, "now and at first, two segments"
    assert "Pellowick at home,2099-10-17,Pregame" in lines
