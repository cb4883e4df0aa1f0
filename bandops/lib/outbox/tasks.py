"""The Celery tasks; the logic is in ``running`` and ``sweeping``."""

from __future__ import annotations

from celery import shared_task

from bandops.lib.outbox.running import run_job
from bandops.lib.outbox.sweeping import sweep


@shared_task(name="bandops.run_job")  # type: ignore[untyped-decorator]
def run_job_task(job_id: int) -> None:
    run_job(job_id)


@shared_task(name="bandops.sweep_jobs")  # type: ignore[untyped-decorator]
def sweep_jobs_task() -> None:
    sweep()
