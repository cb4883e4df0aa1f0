"""How far the jobs of a group are, and the files they made."""

from __future__ import annotations

import datetime
from dataclasses import dataclass
from typing import Any

from django.db.models import QuerySet
from django.http import HttpResponse
from django.utils import timezone

from bandops.lib.outbox.models import Artifact, Job
from bandops.lib.outbox.running import MAX_ATTEMPTS


@dataclass(frozen=True)
class Waiting:
    """Notices that keep the quiet hours."""

    count: int
    until: datetime.datetime


def progress_of(group: str) -> dict[str, Any]:
    """How far the jobs of a group are, and the files they made, as templates show it."""
    return progress_among(Job.objects.filter(group=group), Artifact.objects.filter(group=group))


def progress_among(wanted: QuerySet[Job], files: QuerySet[Artifact]) -> dict[str, Any]:
    """The same of some jobs and files."""
    jobs = list(wanted)
    undone = [job for job in jobs if job.done_at is None]
    now = timezone.now()
    open_jobs = [job for job in undone if job.not_before is None or job.not_before <= now]
    given_up = [job for job in open_jobs if job.attempts >= MAX_ATTEMPTS]
    return {
        "jobs": len(jobs),
        "jobs_done": len(jobs) - len(undone),
        "jobs_waiting": len(undone) - len(open_jobs),
        "jobs_open": len(open_jobs) - len(given_up),
        "jobs_failed": [job for job in open_jobs if job.error and job not in given_up],
        "jobs_given_up": given_up,
        "files": files,
    }


def file_response(content: bytes, filename: str, content_type: str) -> HttpResponse:
    """A file to look at."""
    response = HttpResponse(content, content_type=content_type)
    response["Content-Disposition"] = f'inline; filename="{filename}"'
    return response
