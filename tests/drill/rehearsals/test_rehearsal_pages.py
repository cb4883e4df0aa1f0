"""The pages of a rehearsal, role by role: schedule, who is expected, who is missing."""

from __future__ import annotations

import uuid

import pytest
from django.urls import reverse

from drill.events.models import Event
from drill.rehearsals.models import Attendance, RehearsalBlock
from tests.architecture.world import client_of
from tests.drill.rehearsals.rehearsal_pages import note, rehearsal, row_of, text, url
from tests.drill.rehearsals.rehearsing import DAY, clock
from tests.factories import Band, Cast

__all__ = ["rehearsal"]

pytestmark = pytest.mark.django_db


def test_a_member_finds_the_next_rehearsal_on_the_card(
    rehearsal: Event, band: Band, cast: Cast
) -> None:
    with clock(17):
        page = text(client_of(cast, "member"), reverse("card"))
    start = page.index('id="rehearsal"')
    first = page.index('First: <a href="#rehearsal">rehearsal today, 4:15 PM')
    assert first < page.index("not published yet"), "before anything about the game"
    section = page[start : page.index("</section>", start)]
    for words in ("Rehearsal today, 4:15 PM", "Thu, Oct 15", "Mill Lane practice field"):
        assert words in section
    assert "4:30 to 6:00 PM" in section and "Halftime in full" in section
    for link in ("attendance", "practice", "call"):
        assert f"/{link}/" not in section, "the schedule only"


def test_a_leader_gets_from_the_rank_to_its_rehearsal(
    rehearsal: Event, band: Band, cast: Cast
) -> None:
    page = text(client_of(cast, "leader"), reverse("my-rank"))
    assert "Today's rehearsal: attendance" in page
    call = reverse("call-of-rank", args=[rehearsal.pk, band.ranks["1"].pk])
    for address in (url("attendance", rehearsal), url("practice", rehearsal), call):
        assert f'href="{address}"' in page


def test_a_leader_sees_the_own_rank_and_never_why(rehearsal: Event, band: Band, cast: Cast) -> None:
    page = text(client_of(cast, "leader"), url("attendance", rehearsal))
    assert "unavailable" in row_of(page, band, "Eno Farrow")
    assert "unavailable" not in row_of(page, band, "Dee Quill")
    assert "Everybody is here (6)" in page and "0 of 7 marked" in page
    for word in ("Hal Brook", "family", "reason"):
        assert word not in page


def test_staff_read_conflicts_first_then_who_is_missing(
    rehearsal: Event, band: Band, cast: Cast
) -> None:
    leader, staff = client_of(cast, "leader"), client_of(cast, "staff")
    note(leader, rehearsal, band, "Dee Quill", "present")
    note(staff, rehearsal, band, "Dee Quill", "absent")
    note(leader, rehearsal, band, "Eno Farrow", "absent")
    note(leader, rehearsal, band, "Cai Ørnberg", "absent")
    page = text(staff, url("attendance", rehearsal))
    differing, missing, ranks = (
        page.index(f">{words}</")
        for words in ("Marked two ways", "Not here, nothing reported", "By rank")
    )
    assert differing < missing < ranks
    assert "Dee Quill" in page[differing:missing]
    assert "Cai Ørnberg" in page[missing:ranks] and "Eno Farrow" not in page[missing:ranks]
    assert f"?rank={band.ranks['2'].pk}" in page[ranks:]
    listed = text(staff, reverse("rehearsals"))
    assert "0 here of 3 marked" in listed and "1 marked two ways" in listed


def test_everybody_else_is_here(rehearsal: Event, band: Band, cast: Cast) -> None:
    client = client_of(cast, "leader")
    note(client, rehearsal, band, "Dee Quill", "late")
    data = {"rank": band.ranks["1"].pk, "key": uuid.uuid4()}
    for _ in range(2):
        client.post(url("attendance-rest", rehearsal), data)
    assert Attendance.objects.count() == 6
    page = text(client, url("attendance", rehearsal))
    assert "Everybody else" not in page and "6 of 7 marked" in page


def test_before_its_day_a_rehearsal_shows_who_is_expected(
    rehearsal: Event, band: Band, cast: Cast
) -> None:
    with clock(12, 0, DAY.replace(day=14)):
        client = client_of(cast, "leader")
        page = text(client, url("attendance", rehearsal))
        assert "opens Thu, Oct 15" in page and "<button id=" not in page
        assert "unavailable" in row_of(page, band, "Eno Farrow")
        assert note(client, rehearsal, band, "Dee Quill", "late") == 302
    assert not Attendance.objects.exists()


def test_staff_plan_blocks_on_the_rehearsal(rehearsal: Event, band: Band, cast: Cast) -> None:
    client = client_of(cast, "staff")
    page = text(client, url("event", rehearsal))
    assert "Halftime in full" in page and 'id="block_starts"' in page
    data = {"starts": "16:30", "ends": "17:15", "what": "Brass sectionals", "where": "East lot"}
    assert client.post(url("block-new", rehearsal), data).status_code == 302
    clash = client.post(url("block-new", rehearsal), {**data, "what": "Again"})
    assert clash.status_code == 200 and b"overlaps Brass sectionals" in clash.content
    block = RehearsalBlock.objects.get(what="Brass sectionals")
    changed = client.post(reverse("block", args=[block.pk]), {**data, "what": "Brass"})
    assert changed.status_code == 302
    assert client.post(reverse("block-remove", args=[block.pk])).status_code == 302
    assert rehearsal.blocks.count() == 1
    assert client.post(url("block-new", band.event), data).status_code == 404
