"""Whoever said that they come later: at the desk, on the attendance list and for their leader."""

from __future__ import annotations

import datetime

import pytest
from django.urls import reverse

from drill.absences.models import Absence
from drill.gameday.services.arrivals import not_here, still_late
from tests.answers import text
from tests.architecture.world import client_of
from tests.drill.gameday.gameday_desk import opened, out
from tests.drill.rehearsals.rehearsal_pages import note
from tests.drill.rehearsals.rehearsing import clock
from tests.factories import Band, Cast
from tests.factories.band import GAME_DAY

__all__ = ["out"]

pytestmark = pytest.mark.django_db
CAI = "Cai Ørnberg"


@pytest.fixture
def late(out: Band) -> Band:
    """The call is at 11:00 AM; Cai comes at 11:40, before anything is marched."""
    return _late(out, datetime.time(11, 40))


def _late(band: Band, until: datetime.time, **more: object) -> Band:
    said = {"event": band.event, "kind": "late", "late_until": until, "state": "reported"}
    Absence.objects.create(member=band.members[CAI], **(said | more))
    return band


def names(band: Band) -> list[str]:
    return [one.member.name for one in still_late(opened(band))]


def test_the_desk_lists_them_and_the_reports_to_decide(late: Band, cast: Cast) -> None:
    with clock(8, 0, GAME_DAY):
        page = text(client_of(cast, "staff").get(reverse("desk-of", args=[late.event.pk])))
    listed = page[page.index("Late, and still expected") :]
    assert (
        "late until" in listed
        and "11:40 AM" in listed
        and f"<strong>{CAI}</strong> 1-3 (" in listed
    )
    assert "Decide 1 reported absence<" in page


def test_they_are_listed_until_they_are_seen(late: Band, cast: Cast) -> None:
    with clock(11, 5, GAME_DAY):
        staff = client_of(cast, "staff")
        note(staff, late.event, late, "Ana Núñez", "present")
        assert names(late) == [CAI]
        missed = {one.member.name for group in not_here(opened(late)) for one in group.people}
        assert CAI not in missed and "Dee Quill" in missed
        note(staff, late.event, late, CAI, "present")
        assert names(late) == []


def test_only_a_time_after_the_call_that_is_the_latest_word_counts(out: Band) -> None:
    _late(out, datetime.time(10, 30))
    assert names(out) == [], "before the call"
    _late(out, datetime.time(11, 30), event=None, from_date=GAME_DAY, until_date=GAME_DAY)
    assert names(out) == [CAI]
    Absence.objects.create(member=out.members[CAI], event=out.event, kind="in")
    assert names(out) == [], "in after all"


def test_everybody_is_here_leaves_them_out(late: Band, cast: Cast) -> None:
    address = reverse("attendance", args=[late.event.pk])
    with clock(11, 5, GAME_DAY):
        leader = client_of(cast, "leader")
        page = text(leader.get(address))
        row = page[page.index(f'<li id="m{late.members[CAI].pk}"') :]
        assert "late until 11:40 AM" in row[: row.index("</li>")]
        assert "data-rest " not in row[: row.index("</li>")]
        assert "Everybody is here (6)" in page
        rank = late.ranks["1"].pk
        sent = {"rank": rank, "key": "7d1c4f2e-58b1-4be5-9d37-0a5cf0a3b001"}
        leader.post(reverse("attendance-rest", args=[late.event.pk]), sent)
        assert not late.event.attendance.filter(member=late.members[CAI]).exists()
        assert late.event.attendance.count() == 6


def test_my_rank_says_until_when(late: Band, cast: Cast) -> None:
    page = client_of(cast, "leader").get(reverse("my-rank"))
    states = {p["member"].name: p["state"] for p in page.context["people"]}
    assert states[CAI] == "late until 11:40 AM"
    assert states["Dee Quill"] == "available"
