"""The marching record's sheet: from the lineup to the confirmed book."""

from __future__ import annotations

import datetime

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from bandops.lib.audit.models import AuditEntry
from drill.events.models import Event
from drill.gameday.models import DayChange
from drill.lineup.models import Lineup
from drill.record.models import MarchingRecord, RecordEntry
from tests.answers import text
from tests.architecture.many import add_rank, write_lineup
from tests.drill.record.record_pages import _sunday, client, fields, lineup, url
from tests.factories import Band, Cast

__all__ = ["_sunday", "lineup"]

pytestmark = [pytest.mark.django_db, pytest.mark.postgres("counts with conditions, sorted")]


def cell(band: Band, segment: str, name: str) -> str:
    return f"t-{getattr(band, segment).pk}-{band.members[name].pk}"


def test_from_the_lineup_to_the_book(band: Band, cast: Cast, lineup: Lineup) -> None:
    staff = client(cast.staff)
    page = text(staff.get(reverse("record")))
    assert "not confirmed" in page and reverse("record-of", args=[band.event.pk]) in page
    page = text(staff.get(url(band)))
    assert "Rank 1" in page and "Stands" not in page, "only what marches"
    data = fields(page)
    assert data[cell(band, "pregame", "Cai Ørnberg")] == "missed"
    assert data[cell(band, "halftime", "Ida Voss")] == "stood by"
    assert cell(band, "pregame", "Hal Brook") not in data, "of another rank"
    ida = f"marched:{band.spots['1-3'].pk}"
    data[cell(band, "pregame", "Ida Voss")] = ida
    data[cell(band, "halftime", "Jon Pell")] = "offered"

    other = text(staff.post(url(band), data | {"show": str(band.ranks["2"].pk)}))
    assert "Rank 1, 2 changed" in other and not MarchingRecord.objects.exists()
    data = fields(other)
    assert data[cell(band, "pregame", "Ida Voss")] == ida, "goes along, hidden"
    assert cell(band, "pregame", "Bo Larkspur") not in data, "only what differs"
    data[cell(band, "pregame", "Kit Moss")] = "away"
    response = staff.post(url(band), data | {"confirm": "1"})
    assert response.status_code == 302
    entries = {
        (t.segment.name, t.member.name): t.now
        for t in RecordEntry.objects.select_related("segment", "member__person", "spot__rank")
    }
    assert len(entries) == 2 * len(band.members)
    assert entries["Pregame", "Ida Voss"] == "marched 1-3"
    assert entries["Halftime", "Ida Voss"] == "stood by in uniform"
    assert entries["Halftime", "Jon Pell"] == "was offered, did not march"
    assert entries["Pregame", "Kit Moss"] == "was not there"
    assert entries["Pregame", "Hal Brook"] == "marched 2-3"
    page = text(staff.get(reverse("record")))
    assert "confirmed" in page and "by Staff" in page and "Confirm the record" not in page

    again = text(staff.post(url(band), data | {"confirm": "1"}, follow=True))
    assert "counts once" in again, "the same form twice"
    later = data | {"confirm": "1", "csrfmiddlewaretoken": "of another page"}
    assert "already confirmed by Staff" in text(staff.post(url(band), later, follow=True))
    assert RecordEntry.objects.count() == len(entries)
    assert AuditEntry.objects.filter(action="confirm record").exists()


def test_choices_stay_when_the_book_cannot_be_confirmed(
    band: Band, cast: Cast, lineup: Lineup
) -> None:
    staff = client(cast.staff)
    data = fields(text(staff.get(url(band))))
    for name in ("Ida Voss", "Jon Pell"):
        data[cell(band, "pregame", name)] = f"marched:{band.spots['1-3'].pk}"
    page = text(staff.post(url(band), data | {"confirm": "1"}))
    assert "Pregame 1-3: Jon Pell and Ida Voss" in page
    assert (
        fields(page)[cell(band, "pregame", "Jon Pell")] == data[cell(band, "pregame", "Jon Pell")]
    )
    assert not MarchingRecord.objects.exists()


def test_a_newer_revision_is_shown_before_it_is_confirmed(
    band: Band, cast: Cast, lineup: Lineup
) -> None:
    staff = client(cast.staff)
    data = fields(text(staff.get(url(band))))
    write_lineup(band.event, cast.staff, 2)
    page = text(staff.post(url(band), data | {"confirm": "1"}))
    assert "Revision 2 was just published" in page and "from revision 2" in page
    assert not MarchingRecord.objects.exists()


def test_a_rank_is_chosen_in_the_address(band: Band, cast: Cast, lineup: Lineup) -> None:
    page = text(client(cast.staff).get(url(band), {"rank": band.ranks["2"].pk}))
    assert f'"{cell(band, "pregame", "Hal Brook")}"' in page
    assert f'"{cell(band, "pregame", "Ana Núñez")}"' not in page


def test_nonsense_changes_no_line(band: Band, cast: Cast, lineup: Lineup) -> None:
    staff = client(cast.staff)
    data = fields(text(staff.get(url(band))))
    data |= {
        cell(band, "pregame", "Ida Voss"): "marched:999999",
        cell(band, "pregame", "Jon Pell"): "flew",
        cell(band, "stands", "Ana Núñez"): "away",
        f"t-{band.pregame.pk}-999999": "away",
        "t-x-y": "away",
    }
    assert staff.post(url(band), data | {"confirm": "1"}).status_code == 302
    assert not RecordEntry.objects.filter(segment=band.stands).exists()
    for name in ("Ida Voss", "Jon Pell"):
        entry = RecordEntry.objects.get(segment=band.pregame, member=band.members[name])
        assert entry.now == "stood by in uniform"


def test_what_has_not_happened_is_not_confirmed(band: Band, cast: Cast, lineup: Lineup) -> None:
    staff = client(cast.staff)
    Event.objects.filter(pk=band.event.pk).update(date=datetime.date(2099, 10, 19))
    page = text(staff.get(url(band)))
    assert (
        "confirm its record once it is over" in page
        and "<form method" not in page.split("<main")[1]
    )
    assert staff.post(url(band), {"lineup": lineup.pk}).status_code == 200
    assert not MarchingRecord.objects.exists()
    Event.objects.filter(pk=band.event.pk).update(kind="rehearsal", date=datetime.date(2099, 10, 1))
    assert staff.get(url(band)).status_code == 404
    assert "Pellowick" not in text(staff.get(reverse("record")))


def test_changes_after_the_call_are_listed(band: Band, cast: Cast, lineup: Lineup) -> None:
    """The call is at 11:00; what was changed at 10:00 is not of the day's end."""
    after = write_lineup(band.event, cast.staff, 2)
    seat = [band.halftime.pk, band.spots["1-3"].pk]
    names = {n: band.members[n].pk for n in ("Cai Ørnberg", "Ida Voss", "Jon Pell")}
    for hour, member in ((10, "Jon Pell"), (15, "Ida Voss")):
        change = DayChange.objects.create(
            event=band.event,
            before=lineup,
            after=after,
            seats=[[*seat, names["Cai Ørnberg"], names[member]]],
            made_by=cast.staff,
        )
        DayChange.objects.filter(pk=change.pk).update(made_at=band.event.local(datetime.time(hour)))
    page = text(client(cast.staff).get(url(band)))
    assert "3:00 PM" in page and "Halftime 1-3: Ida Voss instead of Cai Ørnberg" in page
    assert "Jon Pell instead" not in page


def test_the_sheet_asks_as_often_for_more_members(band: Band, cast: Cast, lineup: Lineup) -> None:
    staff = client(cast.staff)

    def count() -> int:
        with CaptureQueriesContext(connection) as context:
            assert "Confirm the record of all ranks" in text(staff.get(url(band)))
        return len(context)

    count()
    before = count()
    add_rank(band, 12)
    write_lineup(band.event, cast.staff, 2)
    assert count() <= before
