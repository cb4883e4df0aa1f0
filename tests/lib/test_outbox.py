"""Jobs: one claimer at a time, kept errors, a bounded number of attempts, single files."""

from __future__ import annotations

import datetime
import logging
from collections.abc import Callable
from itertools import pairwise
from typing import Any

import pytest
import time_machine
from django.core.management import call_command
from django.db import transaction
from django.utils import timezone
from kombu.exceptions import OperationalError

from bandops.lib.outbox import dispatch, registry
from bandops.lib.outbox.dispatch import add_job, start_job
from bandops.lib.outbox.models import Artifact, Job
from bandops.lib.outbox.running import (
    MAX_ATTEMPTS,
    job_claimed,
    keep_artifact,
    run_job,
    waiting_jobs,
)

pytestmark = [
    pytest.mark.django_db,
    pytest.mark.postgres("jobs are claimed by conditional updates"),
]
KIND = "tests.note"


class Handler:
    """Counts what it was asked and what was stored; ``before`` runs in the middle of the work."""

    def __init__(self) -> None:
        self.asked: list[dict[str, Any]] = []
        self.stored = 0
        self.before: Callable[[], object] = lambda: None
        self.at_store: Callable[[], object] = lambda: None

    def __call__(self, payload: dict[str, Any]) -> Callable[[], None]:
        self.asked.append(payload)
        self.before()
        return self._store

    def _store(self) -> None:
        self.at_store()
        self.stored += 1


@pytest.fixture
def handler(monkeypatch: pytest.MonkeyPatch) -> Handler:
    made = Handler()
    monkeypatch.setitem(registry._handlers, KIND, made)
    return made


def job(key: str = "one", **values: Any) -> Job:
    return Job.objects.create(key=key, kind=KIND, payload={"n": 1}, **values)


def fail(text: str = "the printer is out of ink") -> object:
    raise RuntimeError(text)


def test_a_job_is_done_once(handler: Handler) -> None:
    it = job()
    assert run_job(it.pk)
    assert not run_job(it.pk)
    it.refresh_from_db()
    assert handler.asked == [{"n": 1}] and handler.stored == 1
    assert it.done_at is not None and it.lease_until is None and it.attempts == 1


def test_a_claim_leases_the_job_for_the_set_time(handler: Handler, settings: Any) -> None:
    settings.JOB_LEASE = datetime.timedelta(minutes=7)
    seen = []
    it = job()
    handler.before = lambda: seen.append(Job.objects.get(pk=it.pk).lease_until)
    before = timezone.now()
    run_job(it.pk)
    assert before + settings.JOB_LEASE <= seen[0] <= timezone.now() + settings.JOB_LEASE


def test_a_second_claimer_gets_nothing_while_the_lease_runs(handler: Handler) -> None:
    it, second = job(), []
    handler.before = lambda: second.append((run_job(it.pk), waiting_jobs()))
    assert run_job(it.pk)
    assert second == [(False, [])], "neither a second worker nor the sweep takes it"
    assert len(handler.asked) == 1


def test_a_job_whose_lease_is_over_is_taken_by_the_next_and_stored_once(
    handler: Handler, settings: Any
) -> None:
    settings.JOB_LEASE = datetime.timedelta(seconds=-1)
    it, second = job(), []

    def slow() -> None:
        if len(handler.asked) == 1:
            second.append(run_job(it.pk))

    handler.before = slow
    assert not run_job(it.pk), "the slow first worker finds it done"
    assert second == [True]
    assert len(handler.asked) == 2 and handler.stored == 1


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


def test_the_same_key_is_one_job(
    handler: Handler, django_capture_on_commit_callbacks: Any, settings: Any
) -> None:
    settings.JOBS_RUN_IN = "inline"
    with django_capture_on_commit_callbacks(execute=True):
        first = add_job(key="k", kind=KIND, group="g", payload={"n": 1})
        second = add_job(key="k", kind=KIND, group="g", payload={"n": 2})
    assert first == second and handler.asked == [{"n": 1}]


def test_a_job_of_a_transaction_that_fails_never_was(handler: Handler, settings: Any) -> None:
    settings.JOBS_RUN_IN = "inline"
    with pytest.raises(RuntimeError), transaction.atomic():
        add_job(key="k", kind=KIND, group="g", payload={})
        fail()
    assert not Job.objects.exists() and not handler.asked


def test_jobs_for_later_wait_for_the_sweep(handler: Handler, settings: Any) -> None:
    settings.JOBS_RUN_IN = "later"
    it = job()
    start_job(it.pk)
    assert not handler.asked and waiting_jobs() == [it.pk]


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


def test_watchers_are_told_of_a_claim_before_the_work(handler: Handler) -> None:
    told = []

    def watch(sender: object, job: Job, **rest: Any) -> None:
        told.append((job.key, len(handler.asked)))

    job_claimed.connect(watch)
    try:
        run_job(job().pk)
    finally:
        job_claimed.disconnect(watch)
    assert told == [("one", 0)]


def test_a_key_keeps_one_file() -> None:
    def keep(content: bytes) -> Artifact:
        return keep_artifact(
            key="print:1",
            group="g",
            title="Lineup",
            filename="lineup.pdf",
            content_type="application/pdf",
            content=content,
        )

    first, second = keep(b"first"), keep(b"second")
    assert first == second and Artifact.objects.count() == 1
    assert Artifact.objects.get().file.read() == b"first" and first.size == 5
