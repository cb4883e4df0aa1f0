"""The marching record is proposed from the attendance before the absences."""

from __future__ import annotations

import datetime
import uuid

import pytest
import time_machine

from bandops.lib.keys import key
from drill.backups.services.chances import histories
from drill.events.models import Event
from drill.lineup.models import Lineup
from drill.record import queries as record_queries
from drill.record.models import RecordEntry
from drill.rehearsals.services.attendance_notes import note_attendance
from roster.people.models import Member
from tests.answers import text
from tests.drill.record.marching_record import AFTER, confirm, out, played
from tests.drill.record.record_pages import client
from tests.factories import Band, Cast

pytestmark = [pytest.mark.django_db, pytest.mark.postgres("counts with conditions")]
CAI, IDA, JON = "Cai Ørnberg", "Ida Voss", "Jon Pell"


@pytest.fixture
def game(band: Band, cast: Cast) -> Lineup:
    """Run 1 at 2:00 PM, run 2 at 4:00 PM. Cai was entered as out and came; Ana did not come; Bo
    came late, after run 1; Dee left at three; of Eno two said different things. Of the alternates
    Ida was there, Jon was not, and Kit was there but is not cleared."""
    lineup = played(band, cast, 5)
    event = lineup.event
    out(band, cast, CAI, event)
    out(band, cast, IDA, event)
    Member.objects.filter(pk=band.members["Kit Moss"].pk).update(cleared="no")
    for name, state, hour in (
        (CAI, "present", 13),
        ("Ana Núñez", "absent", 13),
        ("Bo Larkspur", "absent", 13),
        ("Bo Larkspur", "late", 15),
        ("Dee Quill", "present", 13),
        ("Dee Quill", "left", 15),
        (IDA, "present", 13),
        (JON, "absent", 13),
        ("Kit Moss", "present", 13),
    ):
        say(cast, event, band.members[name], state, hour)
    say(cast, event, band.members["Eno Farrow"], "present", 13)
    note(cast, event, band.members["Eno Farrow"], "absent", 14, staff=False)
    return lineup


def say(cast: Cast, event: Event, member: Member, state: str, hour: int) -> None:
    note(cast, event, member, state, hour, staff=True)


def note(cast: Cast, event: Event, member: Member, state: str, hour: int, *, staff: bool) -> None:
    with time_machine.travel(event.local(datetime.time(hour)), tick=False):
        note_attendance(
            actor=cast.staff if staff else cast.leader,
            event=event,
            member=member,
            state=state,
            key=uuid.uuid4(),
            noted_at=None,
        )


def test_the_first_guess_heeds_who_was_seen(band: Band, cast: Cast, game: Lineup) -> None:
    confirm(cast, game)
    found: dict[str, list[str]] = {}
    for entry in RecordEntry.objects.select_related("member__person", "spot__rank", "segment"):
        found.setdefault(entry.member.name, []).append(entry.now)
    missed = "was placed, did not march"
    assert found[CAI] == ["marched 1-3"] * 2
    assert found["Ana Núñez"] == [missed] * 2
    assert found["Bo Larkspur"] == [missed, "marched 1-2"]
    assert found["Dee Quill"] == ["marched 1-4", missed]
    assert found["Eno Farrow"] == ["marched 1-5"] * 2, "notes differ: as published"
    assert found["Gus Tamm"] == ["marched 2-2"] * 2, "nobody noted: as published"
    assert found[IDA] == ["stood by in uniform"] * 2, "entered as out, and came"
    assert found[JON] == found["Kit Moss"] == ["was not there"] * 2


def test_the_shares_count_the_same_before_it_is_confirmed(
    band: Band, cast: Cast, game: Lineup
) -> None:
    found = record_queries.record_counts(band.season, AFTER)
    figures = {n: (c.marched, c.available) for n, m in band.members.items() for c in [found[m.pk]]}
    assert figures[CAI] == (2, 2) and figures["Ana Núñez"] == (0, 0)
    assert figures["Bo Larkspur"] == (1, 1) and figures["Dee Quill"] == (1, 1)
    assert figures["Eno Farrow"] == (2, 2) and figures[JON] == (0, 0)


def test_the_page_shows_the_attendance_beside_the_names(
    band: Band, cast: Cast, game: Lineup
) -> None:
    with time_machine.travel(datetime.datetime(2099, 10, 1, 15, tzinfo=datetime.UTC), tick=False):
        page = text(client(cast.staff).get(f"/record/{game.event.pk}/"))
    assert "plus attendance and absences" in page
    for words in ("notes differ", "left early", "3 here", "2 not here"):
        assert words in page.replace("<strong>", "").replace("</strong>", ""), words


def test_who_did_not_come_counts_as_out_until_it_is_confirmed(
    band: Band, cast: Cast, game: Lineup
) -> None:
    found = histories(band.season, [game.event])
    missed = {name: found[key(m.pk)].missed for name, m in band.members.items()}
    assert missed["Ana Núñez"] == 1.0 and missed[CAI] == 0.0 and missed["Bo Larkspur"] == 0.0
