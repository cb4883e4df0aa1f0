"""Attendance at a performance: from its call on, by rank leaders for theirs and staff for all."""

from __future__ import annotations

import uuid

import pytest
from django.urls import reverse

from bandops.lib.errors import Refused
from drill.lineup.models import Lineup
from drill.rehearsals.models import Attendance
from drill.rehearsals.services.attendance import attendance_of
from drill.rehearsals.services.attendance_notes import note_attendance
from drill.rehearsals.services.practice import log_practice
from tests.architecture.many import write_lineup
from tests.architecture.world import client_of
from tests.drill.rehearsals.rehearsal_pages import note, row_of, text, url
from tests.drill.rehearsals.rehearsing import clock, moment, tidewheel
from tests.factories import Band, Cast
from tests.factories.band import GAME_DAY

pytestmark = pytest.mark.django_db


def test_it_opens_at_the_call(band: Band, cast: Cast) -> None:
    """The call is at 11:00 AM."""
    with clock(10, 59, GAME_DAY):
        leader = client_of(cast, "leader")
        page = text(leader, url("attendance", band.event))
        assert "opens at the call, Sat, Oct 17, 11:00 AM" in page
        assert 'aria-label="Dee Quill: here"' not in page
        assert "Attendance: who is here" not in text(leader, reverse("my-rank"))
        with pytest.raises(Refused, match="11:00 AM"):
            note_attendance(
                actor=cast.staff,
                event=band.event,
                member=band.members["Dee Quill"],
                state="absent",
                key=uuid.uuid4(),
                noted_at=None,
            )
    with clock(11, 0, GAME_DAY):
        assert url("attendance", band.event) in text(leader, reverse("my-rank"))
        assert note(leader, band.event, band, "Dee Quill", "absent") == 302
        row = row_of(text(leader, url("attendance", band.event)), band, "Dee Quill")
    assert "✓ not here" in row and "Ana Núñez: not here, 11:00 AM" in row


def test_without_a_call_it_opens_with_the_day(band: Band, cast: Cast) -> None:
    band.event.call_time = None
    band.event.save()
    with clock(0, 1, GAME_DAY):
        assert note(client_of(cast, "staff"), band.event, band, "Hal Brook", "late") == 302


def test_a_leader_notes_the_own_rank_only_and_a_member_nobody(band: Band, cast: Cast) -> None:
    with clock(11, 5, GAME_DAY):
        assert note(client_of(cast, "leader"), band.event, band, "Hal Brook", "absent") == 403
        assert note(client_of(cast, "member"), band.event, band, "Hal Brook", "absent") == 403
        assert client_of(cast, "member").get(url("attendance", band.event)).status_code == 403
    assert not Attendance.objects.exists()


def test_a_note_without_signal_keeps_its_time_from_the_call_on(band: Band, cast: Cast) -> None:
    with clock(13, 0, GAME_DAY):
        leader, key = client_of(cast, "leader"), uuid.uuid4()
        for _ in range(2):
            told = {"noted_at": moment(11, 2, GAME_DAY).isoformat(), "key": key}
            note(leader, band.event, band, "Dee Quill", "late", **told)
        early = {"noted_at": moment(10, 2, GAME_DAY).isoformat()}
        note(leader, band.event, band, "Eno Farrow", "present", **early)
    times = dict(Attendance.objects.values_list("member__person__legal_name", "noted_at"))
    assert times == {
        "Dee Quill": moment(11, 2, GAME_DAY),
        "Eno Farrow": moment(13, 0, GAME_DAY),
    }, "sent twice is kept once; no time before the call is believed"


def test_the_list_says_where_everybody_marches(band: Band, cast: Cast) -> None:
    """Ida stands in at 1-3; Zoe marches 2-3 and has no place of her own."""
    zoe = band.member("Zoe Reed", "sousaphone")
    lineup = write_lineup(band.event, cast.staff, None)
    lineup.rows.filter(spot=band.spots["1-3"]).update(member=band.members["Ida Voss"])
    lineup.rows.filter(spot=band.spots["2-3"]).update(member=zoe)
    Lineup.objects.filter(pk=lineup.pk).update(number=1, state="published")
    first, second = attendance_of(band.event, list(band.ranks.values()))
    places = {line.member.name: line.place for line in (*first.lines, *second.lines)}
    assert places["Bo Larkspur"] == "1-2" and places["Jon Pell"] == "alternate 2, Trumpet"
    assert places["Ida Voss"] == "alternate 1, Trumpet, marches 1-3"
    assert places["Zoe Reed"] == "marches 2-3" and zoe in [x.member for x in second.lines]
    with clock(11, 5, GAME_DAY):
        assert note(client_of(cast, "staff"), band.event, band, "Zoe Reed", "present") == 302


def test_seen_by_another_hand_is_here(band: Band, cast: Cast) -> None:
    with clock(11, 0, GAME_DAY):
        leader, staff = client_of(cast, "leader"), client_of(cast, "staff")
        note(leader, band.event, band, "Dee Quill", "absent")
    with clock(11, 20, GAME_DAY):
        note(staff, band.event, band, "Dee Quill", "present")
        row = row_of(text(leader, url("attendance", band.event)), band, "Dee Quill")
    assert "✓ here" in row and "marked two ways" not in row
    assert "Ana Núñez: not here, 11:00 AM · Staff: here, 11:20 AM" in row


def test_a_member_sees_only_their_own(band: Band, cast: Cast) -> None:
    """Cai is the member who is signed in."""
    with clock(11, 5, GAME_DAY):
        note(client_of(cast, "staff"), band.event, band, "Cai Ørnberg", "late")
        note(client_of(cast, "staff"), band.event, band, "Eno Farrow", "absent")
        page = text(client_of(cast, "member"), reverse("my-record"))
    assert "Pellowick at home: <strong>late</strong>" in page
    assert "not here" not in page and "Eno" not in page


def test_the_event_page_leads_to_it(band: Band, cast: Cast) -> None:
    page = text(client_of(cast, "staff"), reverse("event", args=[band.event.pk]))
    assert url("attendance", band.event) in page


def test_nobody_practises_at_a_game(band: Band, cast: Cast) -> None:
    with clock(12, 0, GAME_DAY), pytest.raises(Refused, match="not a rehearsal"):
        log_practice(
            actor=cast.staff,
            event=band.event,
            member=band.members["Ida Voss"],
            spot=band.spots["1-3"],
            show=tidewheel(band),
            first_set=None,
            last_set=None,
            key=uuid.uuid4(),
            noted_at=None,
        )
