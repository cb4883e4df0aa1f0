"""The band's own clock: asked for in the first set-up, and which day it is by it."""

from __future__ import annotations

import datetime
import io
from typing import Any
from zoneinfo import ZoneInfo

import pytest
import time_machine
from django.core.management import CommandError, call_command
from django.urls import reverse

from bandops.lib.audit.models import AuditEntry
from roster.people.models import Season
from tests.answers import text
from tests.architecture.world import client_of
from tests.factories import Band, Cast

pytestmark = pytest.mark.django_db
FIRST = ("--band", "Quillwater", "--email", "new@quillwater.example")


class Terminal(io.StringIO):
    def isatty(self) -> bool:
        return True


@pytest.mark.parametrize("page", ["set-up", "season", "event-new"])
def test_the_zone_is_chosen_from_a_list(band: Band, cast: Cast, page: str) -> None:
    shown = text(client_of(cast, "director").get(reverse(page)))
    assert 'list="id_time_zone_list"' in shown
    assert '<option value="America/Denver">Mountain, Denver, MST/MDT</option>' in shown


def test_the_set_up_changes_the_bands_clock(band: Band, cast: Cast) -> None:
    director = client_of(cast, "director")
    sent = director.post(reverse("season-clock"), {"time_zone": "america/denver"}, follow=True)
    assert "Times now go by the clock of America/Denver." in text(sent)
    assert Season.objects.get(pk=band.season.pk).time_zone == "America/Denver"


@pytest.mark.parametrize("name", ["season-clock", "season"])
def test_an_unknown_zone_is_refused_with_the_one_that_is_meant(
    band: Band, cast: Cast, name: str
) -> None:
    director = client_of(cast, "director")
    sent = director.post(reverse(name), {"time_zone": "Pacific"}, follow=True)
    assert "Did you mean America/Los_Angeles" in text(sent)
    assert Season.objects.get(pk=band.season.pk).time_zone == "America/Chicago"


def test_the_first_season_asks_for_its_zone_until_it_is_known(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    typed = iter(["Pacific", "America/Los_Angeles"])
    monkeypatch.setattr("sys.stdin", Terminal())
    monkeypatch.setattr("builtins.input", lambda _: next(typed))
    call_command("init_band", *FIRST, stdout=io.StringIO())
    assert Season.objects.get().time_zone == "America/Los_Angeles"


def test_where_nobody_can_be_asked_the_servers_zone_is_taken(settings: Any) -> None:
    settings.TIME_ZONE = "America/Denver"
    out = io.StringIO()
    call_command("init_band", *FIRST, stdout=out)
    assert "by the clock of America/Denver." in out.getvalue()


def test_a_zone_that_is_none_starts_nothing() -> None:
    with pytest.raises(CommandError, match="Did you mean America/Los_Angeles"):
        call_command("init_band", *FIRST, "--time-zone", "Pacific", stdout=io.StringIO())
    assert not Season.objects.exists()


@pytest.mark.parametrize(
    ("zone", "day"),
    [("Pacific/Honolulu", 9), ("America/Chicago", 9), ("Asia/Tokyo", 10)],
)
def test_today_is_the_day_where_the_band_is(band: Band, zone: str, day: int) -> None:
    """It is 3 AM in Greenwich, wherever the server stands."""
    band.season.time_zone = zone
    with time_machine.travel(datetime.datetime(2099, 10, 10, 3, tzinfo=datetime.UTC)):
        assert band.season.today() == datetime.date(2099, 10, day)


@pytest.mark.parametrize(("zone", "over"), [("Pacific/Honolulu", False), ("Asia/Tokyo", True)])
def test_a_page_says_what_is_over_by_the_bands_day(
    band: Band, cast: Cast, zone: str, over: bool
) -> None:
    Season.objects.update(time_zone=zone)
    member = band.members["Cai Ørnberg"]
    member.cleared, member.cleared_until = "until", datetime.date(2099, 10, 9)
    member.save()
    with time_machine.travel(datetime.datetime(2099, 10, 10, 3, tzinfo=datetime.UTC)):
        page = text(client_of(cast, "staff").get(reverse("member", args=[member.pk])))
    assert "through Oct 9, 2099" in page
    assert ("(over: counts as no)" in page) is over


def test_the_history_tells_times_by_the_bands_clock(band: Band, cast: Cast) -> None:
    Season.objects.update(time_zone="Asia/Tokyo")
    staff = client_of(cast, "staff")
    data = {"date": "2099-10-24", "name": "Once more"}
    assert staff.post(reverse("event-copy", args=[band.event.pk]), data).status_code == 302
    at = AuditEntry.objects.filter(action="copy event").latest("pk").at
    here = at.astimezone(ZoneInfo("Asia/Tokyo"))
    assert f"{here:%-I:%M %p}" in text(staff.get(reverse("history")))
