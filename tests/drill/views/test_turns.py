"""The turn book through its pages."""

from __future__ import annotations

import datetime
import re
from collections.abc import Iterator

import pytest
import time_machine
from django.db import connection
from django.http import HttpResponse
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from bandops.lib.accounts.models import User
from bandops.lib.audit.models import AuditEntry
from drill.enums import AbsenceKind
from drill.models import DayChange, Event, Lineup, Turn, TurnBook
from drill.services.absences import Report, report_absence
from tests.architecture.many import add_rank, write_lineup
from tests.conftest import BACKEND
from tests.factories import Band, Cast
from tests.reading import steady

pytestmark = [pytest.mark.django_db, pytest.mark.postgres("counts with conditions, sorted")]

SUNDAY = datetime.datetime(2099, 10, 18, 15, tzinfo=datetime.UTC)


@pytest.fixture(autouse=True)
def _sunday() -> Iterator[None]:
    with time_machine.travel(SUNDAY, tick=False):
        yield


@pytest.fixture
def lineup(band: Band, cast: Cast) -> Lineup:
    """Saturday's game: Cai was out in the end, Ida stood in at pregame only."""
    made = write_lineup(band.event, cast.staff, 1)
    report = Report(band.members["Cai Ørnberg"], {"kind": AbsenceKind.OUT, "event": band.event})
    report_absence(actor=cast.staff, report=report, by_staff=True)
    return made


def client(user: User | None) -> Client:
    made = Client()
    if user is not None:
        made.force_login(user, backend=BACKEND)
    return made


def text(response: HttpResponse) -> str:
    return response.content.decode()


def fields(page: str) -> dict[str, str]:
    """What the page's large form would send as it stands."""
    form = page[page.index('name="lineup"') - 200 :]
    hidden = re.findall(r'<input type="hidden" name="([\w-]+)" value="([^"]*)"', form)
    chosen = re.findall(
        r'<select name="(t-[\d-]+)".*?<option value="([^"]*)" selected>', form, re.DOTALL
    )
    return dict(hidden) | dict(chosen)


def cell(band: Band, segment: str, name: str) -> str:
    return f"t-{getattr(band, segment).pk}-{band.members[name].pk}"


def url(band: Band) -> str:
    return reverse("turns-of", args=[band.event.pk])


def test_from_the_lineup_to_the_book(band: Band, cast: Cast, lineup: Lineup) -> None:
    staff = client(cast.staff)
    page = text(staff.get(reverse("turns")))
    assert "not confirmed" in page and reverse("turns-of", args=[band.event.pk]) in page
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
    assert "Rank 1, 2 changed" in other and not TurnBook.objects.exists()
    data = fields(other)
    assert data[cell(band, "pregame", "Ida Voss")] == ida, "goes along, hidden"
    assert cell(band, "pregame", "Bo Larkspur") not in data, "only what differs"
    data[cell(band, "pregame", "Kit Moss")] = "away"
    response = staff.post(url(band), data | {"confirm": "1"})
    assert response.status_code == 302
    turns = {
        (t.segment.name, t.member.name): t.now
        for t in Turn.objects.select_related("segment", "member__person", "spot__rank")
    }
    assert len(turns) == 2 * len(band.members)
    assert turns["Pregame", "Ida Voss"] == "marched 1-3"
    assert turns["Halftime", "Ida Voss"] == "stood by, dressed"
    assert turns["Halftime", "Jon Pell"] == "was offered, did not march"
    assert turns["Pregame", "Kit Moss"] == "was not there"
    assert turns["Pregame", "Hal Brook"] == "marched 2-3"
    page = text(staff.get(reverse("turns")))
    assert "confirmed" in page and "by Staff" in page and "Confirm the turns" not in page

    again = text(staff.post(url(band), data | {"confirm": "1"}, follow=True))
    assert "confirmed already by Staff" in again
    assert Turn.objects.count() == len(turns)
    assert AuditEntry.objects.filter(action="confirm turns").exists()


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
    assert not TurnBook.objects.exists()


def test_a_newer_revision_is_shown_before_it_is_confirmed(
    band: Band, cast: Cast, lineup: Lineup
) -> None:
    staff = client(cast.staff)
    data = fields(text(staff.get(url(band))))
    write_lineup(band.event, cast.staff, 2)
    page = text(staff.post(url(band), data | {"confirm": "1"}))
    assert "Revision 2 was published meanwhile" in page and "from revision 2" in page
    assert not TurnBook.objects.exists()


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
    assert not Turn.objects.filter(segment=band.stands).exists()
    for name in ("Ida Voss", "Jon Pell"):
        turn = Turn.objects.get(segment=band.pregame, member=band.members[name])
        assert turn.now == "stood by, dressed"


def test_what_has_not_happened_is_not_confirmed(band: Band, cast: Cast, lineup: Lineup) -> None:
    staff = client(cast.staff)
    Event.objects.filter(pk=band.event.pk).update(date=datetime.date(2099, 10, 19))
    page = text(staff.get(url(band)))
    assert "confirmed once it is over" in page and "<form method" not in page.split("<main")[1]
    assert staff.post(url(band), {"lineup": lineup.pk}).status_code == 200
    assert not TurnBook.objects.exists()
    Event.objects.filter(pk=band.event.pk).update(kind="rehearsal", date=datetime.date(2099, 10, 1))
    assert staff.get(url(band)).status_code == 404
    assert "Brackenfield" not in text(staff.get(reverse("turns")))


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


@pytest.fixture
def book(band: Band, cast: Cast, lineup: Lineup) -> TurnBook:
    staff = client(cast.staff)
    staff.post(url(band), fields(text(staff.get(url(band)))) | {"confirm": "1"})
    return TurnBook.objects.get()


def test_a_correction_shows_both_to_staff_and_to_the_member(
    band: Band, cast: Cast, book: TurnBook
) -> None:
    turn = Turn.objects.get(segment=band.pregame, member=band.members["Cai Ørnberg"])
    address = reverse("turn", args=[turn.pk])
    director = client(cast.director)
    data = {"outcome": "marched", "spot": band.spots["1-3"].pk}
    assert "required" in text(director.post(address, data)), "never without a reason"
    assert director.post(address, data | {"note": "came after all"}).status_code == 302
    assert "already" in text(director.post(address, data | {"note": "came after all"}))
    for page in (
        text(client(cast.staff).get(url(band))),
        text(client(cast.member).get(reverse("my-turns"))),
    ):
        assert "marched 1-3" in page
        assert "at first: was placed, did not march. came after all" in page
        assert "Director, Sun 18 Oct" in page


def test_members_see_their_own_turns_only(band: Band, cast: Cast, book: TurnBook) -> None:
    """Cai missed both segments and so had no chance; Hal marched both."""
    cai = text(client(cast.member).get(reverse("my-turns")))
    assert cai.count("was placed, did not march") == 2 and "Nothing is confirmed yet" in cai
    hal = steady(text(client(cast.other).get(reverse("my-turns"))))
    assert "You marched 2 of the 2 segments you were there for: 100 percent." in hal
    assert "Cai" not in hal and "1-3" not in hal
    for user in (cast.leader, cast.member, cast.gear, cast.evaluator):
        assert client(user).get(url(band)).status_code == 403
        assert client(user).get(reverse("turns")).status_code == 403


def test_shares_are_sorted_and_exported(band: Band, cast: Cast, book: TurnBook) -> None:
    staff = client(cast.staff)

    def order(sort: str) -> list[str]:
        page = text(staff.get(reverse("turns"), {"sort": sort}))
        shares = page[page.index("Everybody's share") :]
        return list(re.findall(r'<th scope="row"><a [^>]*>([^<]*)', shares))

    assert order("")[:2] == ["Fay Ashgrove", "Hal Brook"]
    rising, falling = order("percent"), order("-percent")
    assert set(rising[:4]) == {"Cai Ørnberg", "Ida Voss", "Jon Pell", "Kit Moss"}
    assert set(falling[-4:]) == set(rising[:4])
    table = text(staff.get(reverse("export", args=["turns", "csv"])))
    hal = next(line for line in table.splitlines() if "Hal Brook" in line)
    assert hal.endswith("Hal Brook,2,0,0,2,100")
    lines = text(staff.get(reverse("export", args=["turn-book", "csv"])))
    assert lines.count("missed") == 4, "now and at first, two segments"
    assert "Brackenfield at home,2099-10-17,Pregame" in lines


def test_the_sheet_asks_as_often_for_more_members(band: Band, cast: Cast, lineup: Lineup) -> None:
    staff = client(cast.staff)

    def count() -> int:
        with CaptureQueriesContext(connection) as context:
            assert "Confirm the turns of all ranks" in text(staff.get(url(band)))
        return len(context)

    count()
    before = count()
    add_rank(band, 12)
    write_lineup(band.event, cast.staff, 2)
    assert count() <= before
