"""Adding jobs to a transaction and starting them after its commit."""

from __future__ import annotations

import datetime
import logging
import queue
import threading
import time
from collections.abc import Iterable
from typing import Any

from celery import current_app
from django.conf import settings
from django.db import close_old_connections, transaction
from kombu.exceptions import OperationalError

from bandops.lib.audit.recording import something_leaves
from bandops.lib.outbox.models import Job
from bandops.lib.outbox.running import run_job

log = logging.getLogger(__name__)


def add_job(
    *,
    key: str,
    kind: str,
    group: str,
    payload: dict[str, Any],
    not_before: datetime.datetime | None = None,
) -> Job:
    """Write a job in the current transaction; it starts when that commits, or with the first
    sweep after ``not_before``.

    Once committed, a job that cannot be started waits for the sweep: the caller's work stands.
    """
    something_leaves()
    defaults = {"kind": kind, "group": group, "payload": payload, "not_before": not_before}
    job, _ = Job.objects.get_or_create(key=key, defaults=defaults)
    if not_before is None:
        start_on_commit([job.pk])
    return job


def start_on_commit(job_ids: Iterable[int]) -> None:
    """Start jobs once the current transaction has committed."""
    wanted = list(job_ids)

    def start() -> None:
        for job_id in wanted:
            start_job(job_id)

    transaction.on_commit(start, robust=True)


def start_job(job_id: int) -> None:
    """Hand a job to whoever runs jobs here; a broker that is down only delays it (the sweep)."""
    where = settings.JOBS_RUN_IN
    if where == "inline":
        run_job(job_id)
    elif where == "later":
        return
    elif where == "thread":
        _thread.put(job_id)
    else:
        _broker.put(job_id)


class _Broker:
    """Hands jobs to the workers. After a failure it rests, so that a publication with hundreds
    of jobs waits for a dead broker once and not for each of them."""

    REST_SECONDS = 30

    def __init__(self) -> None:
        self.rests_until = 0.0

    def put(self, job_id: int) -> None:
        if time.monotonic() < self.rests_until:
            return
        broken = (OperationalError, *current_app.connection_for_write().connection_errors)
        try:
            current_app.send_task("bandops.run_job", [job_id], retry=False)
        except broken as error:
            self.rests_until = time.monotonic() + self.REST_SECONDS
            log.warning("no broker, jobs from %s on wait for the sweep: %s", job_id, error)


class _JobThread:
    """One daemon thread, started with the first job."""

    def __init__(self) -> None:
        self.waiting: queue.SimpleQueue[int] = queue.SimpleQueue()
        self.lock = threading.Lock()
        self.thread: threading.Thread | None = None

    def put(self, job_id: int) -> None:
        self.waiting.put(job_id)
        with self.lock:
            if self.thread is None or not self.thread.is_alive():
                self.thread = threading.Thread(target=self._work, name="jobs", daemon=True)
                self.thread.start()

    def _work(self) -> None:
        while True:
            job_id = self.waiting.get()
            close_old_connections()
            try:
                run_job(job_id)
            except Exception:
                log.exception("job %s", job_id)


_broker = _Broker()
_thread = _JobThread()
