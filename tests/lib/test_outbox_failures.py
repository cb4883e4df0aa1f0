"""Jobs that fail: kept errors, a bounded number of attempts, a broker that is down."""

from __future__ import annotations

import datetime
import logging
from itertools import pairwise
from typing import Any

import pytest
import time_machine
from django.core.management import call_command
from django.utils import timezone
from kombu.exceptions import OperationalError

from bandops.lib.errors import NotHere
from bandops.lib.outbox import dispatch
from bandops.lib.outbox.dispatch import add_job, start_job
from bandops.lib.outbox.models import Job
from bandops.lib.outbox.running import MAX_ATTEMPTS, run_job, waiting_jobs
from tests.lib.outbox_help import KIND, Handler, fail, handler, job

__all__ = ["handler"]

pytestmark = [
    pytest.mark.django_db,
    pytest.mark.postgres("jobs are claimed by conditional updates"),
]


def test_a_failing_handler_leaves_its_error_and_the_job_waiting(handler: Handler) -> None:
    it = job()
    handler.before = fail
    assert not run_job(it.pk)
    it.refresh_from_db()
    assert it.error == "RuntimeError: the printer is out of ink"
    assert it.done_at is None and it.lease_until is None
    assert waiting_jobs() == [it.pk]


def test_an_error_without_words_still_shows(handler: Handler) -> None:
    it = job()
    handler.before = lambda: fail("")
    run_job(it.pk)
    it.refresh_from_db()
    assert it.error.startswith("RuntimeError")


def test_a_failing_store_rolls_back_leaves_its_error_and_is_tried_again(handler: Handler) -> None:
    it = job()

    def half_stored() -> None:
        job("a row of the half-stored result")
        fail()

    handler.at_store = half_stored
    assert not run_job(it.pk)
    it.refresh_from_db()
    assert it.done_at is None and "out of ink" in it.error
    assert Job.objects.count() == 1
    handler.at_store = lambda: None
    assert run_job(it.pk)
    it.refresh_from_db()
    assert it.error == "" and it.attempts == 2


def test_a_late_failure_does_not_take_the_lease_of_the_next_worker(
    handler: Handler, settings: Any
) -> None:
    it = job()
    later = timezone.now() + datetime.timedelta(minutes=3)

    def overtaken() -> None:
        Job.objects.filter(pk=it.pk).update(lease_until=later)
        fail()

    handler.before = overtaken
    run_job(it.pk)
    it.refresh_from_db()
    assert it.lease_until == later and it.error == ""


def test_what_this_machine_lacks_is_no_failed_try_and_leaves_no_trace(
    handler: Handler, caplog: pytest.LogCaptureFixture
) -> None:
    it = job()

    def lack() -> None:
        raise NotHere("no ink on this machine")

    handler.before = lack
    for _ in range(MAX_ATTEMPTS + 1):
        assert not run_job(it.pk)
    it.refresh_from_db()
    assert (it.error, it.attempts, it.lease_until) == ("no ink on this machine", 0, None)
    assert {record.exc_info for record in caplog.records} == {None}
    handler.before = lambda: None
    assert waiting_jobs() == [it.pk] and run_job(it.pk)


def test_a_failing_job_is_tried_a_bounded_number_of_times(handler: Handler, settings: Any) -> None:
    settings.JOBS_RUN_IN = "inline"
    it = job()
    handler.before = fail
    started = timezone.now()
    for hour in range(MAX_ATTEMPTS + 3):
        with time_machine.travel(started + datetime.timedelta(hours=hour), tick=False):
            call_command("sweep_jobs", verbosity=0)
    it.refresh_from_db()
    assert it.attempts == MAX_ATTEMPTS == len(handler.asked)
    assert "out of ink" in it.error and it.done_at is None


def test_a_failing_job_rests_longer_each_time(handler: Handler) -> None:
    """An hour without mail is outlived: the eighth try comes 63 minutes after the second."""
    it = job()
    handler.before = fail
    started, tried = timezone.now(), []
    for minute in range(120):
        with time_machine.travel(started + datetime.timedelta(minutes=minute), tick=False):
            if waiting_jobs():
                run_job(it.pk)
                tried.append(minute)
    gaps = [b - a for a, b in pairwise(tried)]
    assert len(tried) == MAX_ATTEMPTS and gaps[0] == 1
    assert all(later > sooner for sooner, later in pairwise(gaps[1:])) and sum(gaps[1:]) >= 63


def test_a_kind_that_nobody_handles_is_an_error_not_a_crash() -> None:
    it = Job.objects.create(key="lost", kind="tests.unheard")
    assert not run_job(it.pk)
    it.refresh_from_db()
    assert "tests.unheard" in it.error


@pytest.mark.parametrize("error", [OperationalError("no broker"), ConnectionRefusedError(111)])
def test_a_broker_that_is_down_only_delays_a_job(
    error: Exception, settings: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    settings.JOBS_RUN_IN = "celery"

    monkeypatch.setattr(dispatch, "_broker", dispatch._Broker())
    tried = []

    def refuse(name: str, arguments: list[int], **options: Any) -> None:
        tried.append(arguments)
        raise error

    monkeypatch.setattr("celery.current_app.send_task", refuse)
    ids = [job(key).pk for key in "abc"]
    for pk in ids:
        start_job(pk)
    assert waiting_jobs() == ids
    assert tried == [[ids[0]]], "a dead broker is waited for once, not for each job"
    dispatch._broker.rests_until = 0.0
    start_job(ids[1])
    assert tried == [[ids[0]], [ids[1]]], "after the rest it is tried again"


def test_whatever_goes_wrong_at_starting_a_job_the_commit_stands(
    handler: Handler,
    django_capture_on_commit_callbacks: Any,
    monkeypatch: pytest.MonkeyPatch,
    caplog: pytest.LogCaptureFixture,
) -> None:
    monkeypatch.setattr(dispatch, "start_job", lambda job_id: fail())
    with caplog.at_level(logging.ERROR), django_capture_on_commit_callbacks(execute=True):
        it = add_job(key="k", kind=KIND, group="g", payload={})
    assert waiting_jobs() == [it.pk] and "out of ink" in caplog.text
