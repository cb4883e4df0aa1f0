"""Claiming and doing jobs, safe to kill at any line."""

from __future__ import annotations

import datetime
import logging

from django.conf import settings
from django.core.files.base import ContentFile
from django.db import models, transaction
from django.dispatch import Signal
from django.utils import timezone

from bandops.lib.errors import NotHere
from bandops.lib.outbox.models import Artifact, Job
from bandops.lib.outbox.registry import give_up, handler_of

log = logging.getLogger(__name__)

job_claimed = Signal()
job_prepared = Signal()
MAX_ATTEMPTS = 8
REST = datetime.timedelta(minutes=1)
"""before the third attempt, doubled before each one after: an hour of no mail is outlived"""


def run_job(job_id: int) -> bool:
    """Do one job unless it is done or somebody's lease on it runs; True when done by this call.

    A failure is kept on the job, which then waits for the sweep; one that lies in this machine
    is not held against the job.
    """
    lease = timezone.now() + settings.JOB_LEASE
    claimed = (
        Job.objects.filter(pk=job_id)
        .claimable()
        .update(lease_until=lease, attempts=models.F("attempts") + 1)
    )
    if not claimed:
        return False
    job = Job.objects.get(pk=job_id)
    job_claimed.send(Job, job=job)
    try:
        return _do(job)
    except NotHere as error:
        log.warning("job %s waits: %s", job.key, error)
        _put_back(job, lease, str(error))
        return False
    except Exception as error:
        log.exception("job %s failed", job.key)
        _failed(job, lease, f"{type(error).__name__}: {error}"[:2000])
        return False


def _put_back(job: Job, lease: datetime.datetime, error: str) -> None:
    """Leave the job to a machine that can do it, or to this one when it can."""
    mine = Job.objects.filter(pk=job.pk, done_at__isnull=True, lease_until=lease)
    mine.update(lease_until=None, error=error, attempts=models.F("attempts") - 1)


def _failed(job: Job, lease: datetime.datetime, error: str) -> None:
    """Let the job rest, longer each time; whoever took it over meanwhile keeps it."""
    over = job.attempts >= MAX_ATTEMPTS
    rest = None if over or job.attempts < 2 else timezone.now() + REST * 2 ** (job.attempts - 2)
    with transaction.atomic():
        mine = Job.objects.filter(pk=job.pk, done_at__isnull=True, lease_until=lease)
        if mine.update(lease_until=rest, error=error) and over:
            give_up(job.kind, job.payload)


def _do(job: Job) -> bool:
    """Work outside a transaction, then store the result and mark the job done in one."""
    store = handler_of(job.kind)(job.payload)
    job_prepared.send(Job, job=job)
    with transaction.atomic():
        open_still = Job.objects.filter(pk=job.pk, done_at__isnull=True)
        if not open_still.update(done_at=timezone.now(), lease_until=None, error=""):
            return False
        store()
    return True


def waiting_jobs() -> list[int]:
    """Jobs to be started again: not done, no lease running, not given up."""
    ids = Job.objects.all().claimable().filter(attempts__lt=MAX_ATTEMPTS)
    return list(ids.values_list("pk", flat=True))


def keep_artifact(
    *, key: str, group: str, title: str, filename: str, content_type: str, content: bytes
) -> Artifact:
    """Store a job's file once; a second call with the key keeps the first file."""
    existing = Artifact.objects.filter(key=key).first()
    if existing is not None:
        return existing
    artifact = Artifact(
        key=key,
        group=group,
        title=title,
        filename=filename,
        content_type=content_type,
        size=len(content),
    )
    artifact.file.save(filename, ContentFile(content), save=False)
    artifact.save()
    return artifact


def keep_pdf(key: str, group: str, title: str, filename: str, content: bytes) -> None:
    keep_artifact(
        key=key,
        group=group,
        title=title,
        filename=filename,
        content_type="application/pdf",
        content=content,
    )
