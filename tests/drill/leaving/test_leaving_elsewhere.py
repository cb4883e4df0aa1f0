"""Travel lists, lessons, orders and challenges follow whoever stops."""

from __future__ import annotations

from typing import Any

import pytest

from drill.backups.models import BackupPlan, Lesson
from drill.challenges.enums import ChallengeState
from drill.challenges.models import Challenge
from drill.events.services.events import copy_event
from drill.lineup import queries as lineup_queries
from drill.lineup.models import Backup
from drill.lineup.sheets import sheets
from tests.drill.challenges.challenge_stage import Stage, clock, stage, won
from tests.drill.leaving.leavers import back, newest, on_leave, released, stands
from tests.drill.publishing.publishing_help import at
from tests.drill.travel.travelling import limit, make, post, publish, roles
from tests.factories import Band, Cast

__all__ = ["clock", "stage", "won"]
pytestmark = [pytest.mark.django_db, pytest.mark.postgres("rows go in one transaction")]


def test_a_posted_list_loses_them_is_printed_again_and_its_backup_marches(
    band: Band, cast: Cast
) -> None:
    publish(band, cast)
    limit(band, 9)
    make(band, cast)
    posted = post(band, cast).posted_at
    said = on_leave(band, cast, "Cai Ørnberg")
    band.event.travel_list.refresh_from_db()
    assert "Cai Ørnberg" not in roles(band)
    assert band.event.travel_list.posted_at != posted
    assert at(newest(band), "Halftime", "1-3") == "Ida Voss", "the one backup who travels"
    assert said[0] == "Pellowick at home: Cai Ørnberg is off the travel list."


def test_whoever_is_not_cleared_and_must_travel_stays_on_the_list(band: Band, cast: Cast) -> None:
    publish(band, cast)
    band.event.must_travel.add(band.members["Cai Ørnberg"])
    make(band, cast)
    stands(band, cast, "Cai Ørnberg", cleared="no")
    assert "Cai Ørnberg" in roles(band)
    on_leave(band, cast, "Cai Ørnberg")
    assert "Cai Ørnberg" not in roles(band) and not band.event.must_travel.exists()


def test_lessons_of_events_to_come_go(band: Band, cast: Cast) -> None:
    plan = BackupPlan.objects.create(event=band.event)
    for name in ("Ida Voss", "Jon Pell"):
        Lesson.objects.create(
            plan=plan, member=band.members[name], spot=band.spots["1-3"], locked=True
        )
    on_leave(band, cast, "Ida Voss")
    assert [lesson.member.name for lesson in plan.lessons.all()] == ["Jon Pell"]


def test_the_next_backup_moves_up_when_the_first_leaves(band: Band, cast: Cast) -> None:
    for order, name in enumerate(("Ida Voss", "Jon Pell"), 1):
        Backup.objects.create(spot=band.spots["1-3"], member=band.members[name], order=order)
    released(band, cast, "Ida Voss")
    assert [(b.member.name, b.order) for b in Backup.objects.all()] == [("Jon Pell", 1)]


@pytest.mark.parametrize("name", ["Ida Voss", "Cai Ørnberg"])
def test_an_open_challenge_is_called_off_whoever_of_the_two_leaves(
    stage: Stage, band: Band, cast: Cast, name: str
) -> None:
    stage.ask(stage.ida, "1-3")
    said = released(band, cast, name)
    assert stage.challenge("Ida Voss").state == ChallengeState.CALLED_OFF
    assert "The challenge of Ida Voss for 1-3 in Week 9 is called off." in said


def test_a_win_that_waits_goes_with_its_winner(won: Challenge, band: Band, cast: Cast) -> None:
    released(band, cast, "Ida Voss")
    won.refresh_from_db()
    assert won.state == ChallengeState.CALLED_OFF


def test_a_copied_event_does_not_take_leavers_along(band: Band, cast: Cast, clock: Any) -> None:
    band.event.must_travel.add(band.members["Cai Ørnberg"])
    band.members["Cai Ørnberg"].status = "left"
    band.members["Cai Ørnberg"].save()
    day = band.event.date.replace(day=24)
    fresh = copy_event(actor=cast.staff, event=band.event, name="Again", date=day)
    assert not fresh.must_travel.exists()


def test_a_backup_on_leave_is_named_nowhere_and_keeps_the_place(band: Band, cast: Cast) -> None:
    spot = band.spots["1-3"]
    for order, name in enumerate(("Ida Voss", "Jon Pell"), 1):
        Backup.objects.create(spot=spot, member=band.members[name], order=order)
    publish(band, cast)
    on_leave(band, cast, "Ida Voss")
    lines = [line for rank in sheets(newest(band)).ranks for line in rank.lines]
    named = {b.member.name for line in lines for b in line.backups}
    assert named == {"Jon Pell"}
    back(band, cast, "Ida Voss")
    assert [b.member.name for b in lineup_queries.backups(band.season)] == ["Ida Voss", "Jon Pell"]
