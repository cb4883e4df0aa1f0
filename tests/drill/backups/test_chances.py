"""What a season says about each member's chance of being out."""

from __future__ import annotations

import datetime
import uuid

import pytest
import time_machine
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from bandops.lib.keys import key
from drill.backups.core.chances import History
from drill.backups.enums import ChancesFrom
from drill.backups.models import BackupPlan
from drill.backups.services.chances import chances_of, histories, past_events
from drill.events.enums import TravelState
from drill.events.models import Traveller, TravelList
from drill.record.enums import RecordOutcome
from drill.record.models import MarchingRecord, RecordEntry
from drill.rehearsals.enums import AttendanceState
from drill.rehearsals.services.attendance_notes import note_attendance
from tests.architecture.many import write_lineup
from tests.architecture.world import publish
from tests.drill.backups.season_so_far import NAME, SignIn, an_event, say
from tests.factories import Band, Cast
from tests.factories.band import GAME_DAY

pytestmark = [pytest.mark.django_db, pytest.mark.postgres("decimals are counted up")]


def history(band: Band) -> History:
    past = past_events(band.season, GAME_DAY)
    return histories(band.season, past)[key(band.members[NAME].pk)]


@pytest.mark.parametrize(
    ("kind", "values", "missed"),
    [
        ("out", {}, 1.0),
        ("limited", {}, 1.0),
        ("late", {"late_until": datetime.time(14, 30)}, 1.0),
        ("late", {"late_until": datetime.time(13)}, 0.0),
        ("leaves", {"leaves_at": datetime.time(17, 5)}, 0.0),
        ("doubtful", {"chance": "0.30"}, 0.3),
        ("in", {}, 0.0),
    ],
)
def test_a_performance_is_missed_when_somebody_must_stand_in(
    band: Band, kind: str, values: dict[str, object], missed: float
) -> None:
    say(band, an_event(band, 5), kind, **values)
    assert history(band) == History(1, missed)


def test_a_rehearsal_is_missed_when_nothing_of_it_is_left(band: Band) -> None:
    say(band, an_event(band, 8, "rehearsal"), "late", late_until=datetime.time(15))
    say(band, an_event(band, 10, "rehearsal"))
    assert history(band) == History(2, 1.0)


@pytest.mark.parametrize(
    ("state", "missed"), [(AttendanceState.ABSENT, 1.0), (AttendanceState.LATE, 0.0)]
)
def test_what_was_seen_at_a_rehearsal_goes_before_what_was_said(
    band: Band, cast: Cast, state: str, missed: float
) -> None:
    event = an_event(band, 8, "rehearsal")
    say(band, event, "in" if missed else "out")
    with time_machine.travel(event.local(datetime.time(18)), tick=False):
        note_attendance(
            actor=cast.staff,
            event=event,
            member=band.members[NAME],
            state=state,
            key=uuid.uuid4(),
            noted_at=event.local(datetime.time(16)),
        )
    assert history(band) == History(1, missed)


def test_the_marching_record_goes_before_what_was_said(band: Band, cast: Cast) -> None:
    event = an_event(band, 5)
    say(band, event)
    record = MarchingRecord.objects.create(event=event, lineup=write_lineup(event, cast.staff, 1))
    RecordEntry.objects.create(
        record=record,
        segment=event.segments.all()[0],
        member=band.members[NAME],
        spot=band.spots["1-2"],
        outcome=RecordOutcome.MARCHED,
        first_outcome=RecordOutcome.AWAY,
    )
    assert history(band) == History(1, 0.0)


def test_who_was_left_at_home_could_not_come(band: Band) -> None:
    event = an_event(band, 5)
    at = event.local(datetime.time(9))
    posted = TravelList.objects.create(event=event, state=TravelState.POSTED, posted_at=at)
    Traveller.objects.create(list=posted, member=band.members["Ana Núñez"])
    assert history(band) == History(0, 0.0)


def test_only_what_lies_behind_counts(band: Band) -> None:
    say(band, an_event(band, 5))
    say(band, band.event)
    plan = BackupPlan(event=band.event)
    assert (chances_of(plan).performances, chances_of(plan).of("nobody")) == (0, 0.05)
    with time_machine.travel(datetime.datetime(2099, 9, 20, tzinfo=datetime.UTC), tick=False):
        found = chances_of(plan)
        assert (found.performances, found.rehearsals) == (1, 0)
        same = chances_of(BackupPlan(event=band.event, chances_from=ChancesFrom.SAME))
        assert {same.of(m) for m in found.histories} == {0.05}


def test_a_longer_season_takes_no_more_queries(band: Band) -> None:
    counts = []
    for day in (5, 12, 19):
        an_event(band, day)
        with CaptureQueriesContext(connection) as queries:
            histories(band.season, past_events(band.season, GAME_DAY))
        counts.append(len(queries))
    assert len(set(counts)) == 1


def test_the_page_says_how_likely_and_never_why(band: Band, cast: Cast, signed_in: SignIn) -> None:
    for day in (5, 12, 19, 26):
        say(band, an_event(band, day), category="health")
    publish(band, cast.staff)
    with time_machine.travel(datetime.datetime(2099, 10, 15, tzinfo=datetime.UTC), tick=False):
        page = signed_in(cast.staff).get(reverse("backups"))
        (row,) = page.context["often"].rows
        assert row.title == NAME and int(row.words.rstrip("%")) > 30
        assert "From 4 performances of this season" in page.context["chances"]
        assert b"health" not in page.content
        form = {"lessons_each": 2, "chance": "0.1", "chances_from": "same"}
        signed_in(cast.staff).post(reverse("plan", args=[band.event.pk]), form)
        page = signed_in(cast.staff).get(reverse("backups"))
        assert page.context["chances"] == "Everybody gets the same chance, 10%."
        assert page.context["often"] is None


def test_who_has_no_place_missed_nothing(band: Band, cast: Cast) -> None:
    """Neither a spot nor an alternate's place: nobody had asked them to come."""
    past = an_event(band, 5)
    newcomer = band.member("Zed Quarry", "trumpet")
    record = MarchingRecord.objects.create(event=past, lineup=write_lineup(past, cast.staff, 1))
    for member in (newcomer, band.members[NAME]):
        for segment in past.segments.filter(name__in=["Pregame", "Halftime"]):
            RecordEntry.objects.create(
                record=record, segment=segment, member=member, outcome="away"
            )
    found = histories(band.season, past_events(band.season, GAME_DAY))
    assert found[key(newcomer.pk)] == History(0, 0.0)
    assert found[key(band.members[NAME].pk)] == History(1, 1.0)
