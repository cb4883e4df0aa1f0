"""Jobs: one claimer at a time, one job a key, single files."""

from __future__ import annotations

import datetime
from typing import Any

import pytest
from django.db import transaction
from django.utils import timezone

from bandops.lib.outbox.dispatch import add_job, start_job
from bandops.lib.outbox.models import Artifact, Job
from bandops.lib.outbox.running import job_claimed, keep_artifact, run_job, waiting_jobs
from tests.lib.outbox_help import KIND, Handler, fail, handler, job

__all__ = ["handler"]

pytestmark = [
    pytest.mark.django_db,
    pytest.mark.postgres("jobs are claimed by conditional updates"),
]


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
