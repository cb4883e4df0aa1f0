"""A backup plan is old once what it was made from has changed."""

from __future__ import annotations

import datetime

import pytest
import time_machine
from django.urls import reverse

from bandops.lib.errors import Refused
from bandops.lib.outbox.running import run_job, waiting_jobs
from drill.backups.models import BackupPlan, Lesson
from drill.backups.services.plans import lock_lesson, remove_lesson
from drill.lineup.services.drafts import open_draft
from drill.lineup.services.lineups import place_by_hand
from tests.architecture.world import publish
from tests.drill.backups.season_so_far import SignIn, an_event, say
from tests.factories import Band, Cast

pytestmark = [pytest.mark.django_db, pytest.mark.postgres("decimals are counted up")]


def test_a_plan_is_old_once_the_season_says_something_else(
    band: Band, cast: Cast, signed_in: SignIn
) -> None:
    games = [an_event(band, day) for day in (5, 12, 19, 26)]
    say(band, games[0])
    publish(band, cast.staff)
    with time_machine.travel(datetime.datetime(2099, 10, 15, tzinfo=datetime.UTC), tick=False):
        staff = signed_in(cast.staff)

        def plan_stale() -> bool:
            return bool(staff.get(reverse("backups")).context["plan_stale"])

        for chances_from, stale in (("season", True), ("same", False)):
            form = {"lessons_each": 2, "chance": "0.1", "chances_from": chances_from}
            staff.post(reverse("plan", args=[band.event.pk]), form)
            for job in waiting_jobs():
                run_job(job)
            assert not plan_stale()
            say(band, games[1 if stale else 2])
            assert plan_stale() == stale, chances_from


def test_a_plan_is_old_once_somebody_stands_elsewhere(
    band: Band, cast: Cast, signed_in: SignIn
) -> None:
    draft = open_draft(actor=cast.staff, event=band.event)
    staff, form = signed_in(cast.staff), {"lessons_each": 2, "chance": "0.1"}
    staff.post(reverse("plan", args=[band.event.pk]), form | {"chances_from": "same"})
    for job in waiting_jobs():
        run_job(job)
    assert not staff.get(reverse("backups")).context["plan_stale"]
    place_by_hand(
        actor=cast.staff,
        event=band.event,
        seen_version=draft.version,
        segment=band.halftime,
        spot=band.spots["1-4"],
        member=None,
    )
    assert staff.get(reverse("backups")).context["plan_stale"]


def test_a_lesson_that_is_gone_is_not_locked_back(band: Band, cast: Cast) -> None:
    plan = BackupPlan.objects.create(event=band.event)
    lesson = Lesson.objects.create(
        plan=plan, member=band.members["Ida Voss"], spot=band.spots["1-1"]
    )
    old = Lesson.objects.get(pk=lesson.pk)
    remove_lesson(actor=cast.staff, lesson=lesson)
    with pytest.raises(Refused, match="just made the plan again"):
        lock_lesson(actor=cast.staff, lesson=old, locked=True)
    assert not Lesson.objects.exists()
