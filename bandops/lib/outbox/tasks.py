"""The Celery tasks; the logic is in ``running``."""

from __future__ import annotations

from celery import shared_task

from bandops.lib.outbox.dispatch import start_job
from bandops.lib.outbox.running import run_job, waiting_jobs


@shared_task(name="bandops.run_job")  # type: ignore[untyped-decorator]
def run_job_task(job_id: int) -> None:
    run_job(job_id)


@shared_task(name="bandops.sweep_jobs")  # type: ignore[untyped-decorator]
def sweep_jobs_task() -> None:
    for job_id in waiting_jobs():
        start_job(job_id)
