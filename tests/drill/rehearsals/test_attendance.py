"""Attendance by many hands: kept once, never overwritten, summed up by rank."""

from __future__ import annotations

import datetime
import uuid
from collections.abc import Iterator
from typing import Any

import pytest
from django.urls import reverse

from bandops.lib.accounts.models import User
from bandops.lib.audit.models import AuditEntry
from bandops.lib.errors import Refused
from drill.absences.enums import AbsenceKind
from drill.absences.models import Absence
from drill.absences.services.standings import availability
from drill.events.models import Event
from drill.rehearsals.models import Attendance
from drill.rehearsals.services.attendance import Line, attendance_of
from drill.rehearsals.services.attendance_counts import counts_of
from drill.rehearsals.services.attendance_notes import note_attendance, note_rest_here
from roster.ranks.models import Holding
from tests.answers import text
from tests.architecture.world import client_of
from tests.drill.rehearsals.rehearsing import DAY, clock, make_rehearsal, moment
from tests.factories import Band, Cast

pytestmark = [
    pytest.mark.django_db,
    pytest.mark.postgres("a note that is there is passed over by ON CONFLICT"),
]


@pytest.fixture
def rehearsal(band: Band) -> Iterator[Event]:
    """It is seven in the evening of the rehearsal."""
    event = make_rehearsal(band)
    with clock(19):
        yield event


def note(event: Event, actor: User, band: Band, name: str, state: str, **more: Any) -> Attendance:
    values = {"key": uuid.uuid4(), "noted_at": None, **more}
    return note_attendance(
        actor=actor, event=event, member=band.members[name], state=state, **values
    )


def line_of(event: Event, band: Band, name: str) -> Line:
    lines = [x for r in attendance_of(event, band.ranks.values()) for x in r.lines]
    [found] = [x for x in lines if x.member == band.members[name]]
    return found


def out(band: Band, name: str, **values: Any) -> None:
    entry = {"kind": AbsenceKind.OUT, "from_date": DAY, "until_date": DAY, **values}
    Absence.objects.create(member=band.members[name], category="health", **entry)


def test_the_same_note_twice_is_one_note(rehearsal: Event, band: Band, cast: Cast) -> None:
    key = uuid.uuid4()
    first = note(rehearsal, cast.leader, band, "Dee Quill", "late", key=key)
    entries = AuditEntry.objects.count()
    assert note(rehearsal, cast.leader, band, "Dee Quill", "late", key=key) == first
    assert Attendance.objects.count() == 1 and AuditEntry.objects.count() == entries


def test_one_page_sends_two_notes_with_one_key(rehearsal: Event, band: Band, cast: Cast) -> None:
    """A page still open sends its key again: another state, person or hand is another note."""
    key = uuid.uuid4()
    for actor, name, state in (
        (cast.leader, "Dee Quill", "late"),
        (cast.leader, "Dee Quill", "absent"),
        (cast.staff, "Dee Quill", "absent"),
        (cast.leader, "Eno Farrow", "late"),
    ):
        for _ in range(2):
            note(rehearsal, actor, band, name, state, key=key)
    assert Attendance.objects.count() == 4


@pytest.mark.parametrize(
    ("told", "kept"),
    [
        (moment(18, 30), moment(18, 30)),
        (moment(0), moment(0)),
        (None, moment(19)),
        (moment(19, 1), moment(19)),
        (moment(23, 59, DAY - datetime.timedelta(days=1)), moment(19)),
        (datetime.datetime(1970, 1, 1, tzinfo=datetime.UTC), moment(19)),
    ],
)
def test_a_note_keeps_the_time_it_was_made_if_that_can_be(
    rehearsal: Event,
    band: Band,
    cast: Cast,
    told: datetime.datetime | None,
    kept: datetime.datetime,
) -> None:
    made = note(rehearsal, cast.leader, band, "Dee Quill", "late", noted_at=told)
    assert made.noted_at == kept


def test_notes_are_taken_from_the_day_on(rehearsal: Event, band: Band, cast: Cast) -> None:
    with (
        clock(23, 59, DAY - datetime.timedelta(days=1)),
        pytest.raises(Refused, match="opens Thu, Oct 15"),
    ):
        note(rehearsal, cast.leader, band, "Dee Quill", "late")
    with clock(9, 0, DAY + datetime.timedelta(days=10)):
        note(rehearsal, cast.staff, band, "Dee Quill", "late", noted_at=moment(17))
        note(rehearsal, cast.leader, band, "Dee Quill", "late")
    [first, second] = line_of(rehearsal, band, "Dee Quill").counting
    assert (first.at, first.later, second.later) == (moment(17), False, True)
    page = text(
        client_of(cast, "staff").get(
            reverse("attendance", args=[rehearsal.pk]), {"rank": band.ranks["1"].pk}
        )
    )
    assert "late, 5:00 PM" in page and "late, Sun, Oct 25, 9:00 AM" in page, "a later day is named"


def test_there_are_four_states(rehearsal: Event, band: Band, cast: Cast) -> None:
    with pytest.raises(Refused, match="Choose here"):
        note(rehearsal, cast.staff, band, "Dee Quill", "ill")
    assert not Attendance.objects.exists()


def test_two_who_differ_are_both_shown_until_settled(
    rehearsal: Event, band: Band, cast: Cast
) -> None:
    for actor, state, minute in ((cast.leader, "present", 2), (cast.staff, "absent", 5)):
        note(rehearsal, actor, band, "Dee Quill", state, noted_at=moment(18, minute))
    line = line_of(rehearsal, band, "Dee Quill")
    assert line.differs and line.state == ""
    assert [(n.by, n.word, n.at) for n in line.counting] == [
        ("Ana Núñez", "here", moment(18, 2)),
        ("Staff", "not here", moment(18, 5)),
    ]
    settling = {"settles": True, "noted_at": moment(18, 9)}
    note(rehearsal, cast.staff, band, "Dee Quill", "present", **settling)
    line = line_of(rehearsal, band, "Dee Quill")
    assert (line.state, line.differs) == ("present", False)
    assert [n.settles for n in line.counting] == [True]
    assert len(line.behind) == 2 and Attendance.objects.count() == 3, "nothing is overwritten"
    note(rehearsal, cast.leader, band, "Dee Quill", "left", noted_at=moment(18, 30))
    assert line_of(rehearsal, band, "Dee Quill").differs


def test_everybody_else_is_here_in_one_tap(rehearsal: Event, band: Band, cast: Cast) -> None:
    out(band, "Eno Farrow")
    note(rehearsal, cast.leader, band, "Dee Quill", "absent")
    key = uuid.uuid4()

    def tap(by: User) -> int:
        rank = band.ranks["1"]
        return note_rest_here(actor=by, event=rehearsal, rank=rank, key=key, noted_at=None)

    assert tap(cast.leader) == 5, "three holders and two alternates"
    assert tap(cast.leader) == 0
    states = {n: line_of(rehearsal, band, n).state for n in ("Ana Núñez", "Ida Voss")}
    assert states == {"Ana Núñez": "present", "Ida Voss": "present"}
    assert line_of(rehearsal, band, "Dee Quill").state == "absent"
    assert not line_of(rehearsal, band, "Eno Farrow").noted, "reported out: nobody saw them"
    assert not Attendance.objects.filter(member=band.members["Hal Brook"]).exists()


def test_ranks_are_those_of_the_day(rehearsal: Event, band: Band, cast: Cast) -> None:
    """Holders by spot, then alternates; whoever came to a spot later is not there yet."""
    Holding.objects.filter(member=band.members["Cai Ørnberg"]).update(ends=DAY)
    Holding.objects.create(
        spot=band.spots["1-3"],
        member=band.members["Ida Voss"],
        starts=DAY + datetime.timedelta(days=1),
    )
    [sheet] = attendance_of(rehearsal, [band.ranks["1"]])
    assert [(x.member.name, x.place) for x in sheet.lines] == [
        ("Ana Núñez", "1-1"),
        ("Bo Larkspur", "1-2"),
        ("Dee Quill", "1-4"),
        ("Eno Farrow", "1-5"),
        ("Ida Voss", "alternate 1, Trumpet"),
        ("Jon Pell", "alternate 2, Trumpet"),
    ]


def test_the_figures_of_a_rank(rehearsal: Event, band: Band, cast: Cast) -> None:
    out(band, "Eno Farrow")
    note(rehearsal, cast.leader, band, "Ana Núñez", "present")
    note(rehearsal, cast.leader, band, "Bo Larkspur", "late")
    note(rehearsal, cast.leader, band, "Cai Ørnberg", "absent")
    note(rehearsal, cast.leader, band, "Dee Quill", "absent")
    note(rehearsal, cast.staff, band, "Dee Quill", "late")
    [sheet] = attendance_of(rehearsal, [band.ranks["1"]])
    assert dict(sheet.counts) == {
        "present": 1,
        "late": 1,
        "absent": 1,
        "differs": 1,
        "unavailable": 1,
        "open": 2,
    }
    count = counts_of([rehearsal])[rehearsal.pk]
    assert (count.noted, count.here, count.differs) == (4, 2, 1)
    assert counts_of([band.event]) == {}


def test_not_here_and_nothing_reported(rehearsal: Event, band: Band, cast: Cast) -> None:
    out(band, "Eno Farrow")
    doubtful = {"kind": AbsenceKind.DOUBTFUL, "chance": "0.30"}
    out(band, "Bo Larkspur", **doubtful)
    for name in ("Eno Farrow", "Bo Larkspur", "Dee Quill"):
        note(rehearsal, cast.leader, band, name, "absent")
    lines = {n: line_of(rehearsal, band, n) for n in ("Eno Farrow", "Bo Larkspur", "Dee Quill")}
    assert [n for n, x in lines.items() if x.unexplained] == ["Dee Quill"]


@pytest.mark.parametrize("blocks", [True, False])
def test_an_absence_of_the_day_counts_at_a_rehearsal_without_segments(
    rehearsal: Event, band: Band, blocks: bool
) -> None:
    out(band, "Eno Farrow")
    out(band, "Dee Quill", from_date=DAY + datetime.timedelta(days=1), until_date=None)
    if not blocks:
        rehearsal.blocks.all().delete()
    people = [band.members[n] for n in ("Eno Farrow", "Dee Quill")]
    assert list(availability(rehearsal, people).values()) == ["unavailable", "available"]


def test_late_for_one_block_is_here_in_part(rehearsal: Event, band: Band) -> None:
    rehearsal.blocks.create(
        starts=datetime.time(18), ends=datetime.time(18, 30), what="Pregame in full"
    )
    late = {"kind": AbsenceKind.LATE, "late_until": datetime.time(17, 45), "event": rehearsal}
    out(band, "Eno Farrow", from_date=None, until_date=None, **late)
    people = [band.members["Eno Farrow"]]
    assert list(availability(rehearsal, people).values()) == ["in part"]
