"""Work to be done after a commit, and the files it made."""

from __future__ import annotations

from typing import Any

from django.core.files.storage import default_storage
from django.db import models
from django.utils import timezone

from bandops.lib.outbox.files import WholeFiles

FOLDER = "artifacts/"


class JobQuerySet(models.QuerySet["Job"]):
    def claimable(self) -> JobQuerySet:
        """Due, not done, and nobody's lease is running."""
        now = timezone.now()
        free = models.Q(lease_until__isnull=True) | models.Q(lease_until__lt=now)
        due = models.Q(not_before__isnull=True) | models.Q(not_before__lte=now)
        return self.filter(free, due, done_at__isnull=True)


class Job(models.Model):
    """One piece of work, written in the transaction that needs it and done exactly once."""

    key = models.CharField(max_length=200, unique=True)
    kind = models.CharField(max_length=50)
    group = models.CharField(max_length=100, blank=True, default="")
    payload = models.JSONField(default=dict)
    created_at = models.DateTimeField(auto_now_add=True)
    not_before = models.DateTimeField(null=True)
    lease_until = models.DateTimeField(null=True)
    done_at = models.DateTimeField(null=True)
    attempts = models.PositiveIntegerField(default=0)
    error = models.TextField(blank=True, default="")

    objects: Any = JobQuerySet.as_manager()
    audited = False

    class Meta:
        ordering = ["id"]
        indexes = [models.Index(fields=["group"], name="job_group")]

    def __str__(self) -> str:
        return self.key


class Artifact(models.Model):
    """A file made by a job; ``key`` keeps it single, however often the job runs."""

    key = models.CharField(max_length=200, unique=True)
    group = models.CharField(max_length=100, blank=True, default="")
    title = models.CharField(max_length=200)
    filename = models.CharField(max_length=200)
    content_type = models.CharField(max_length=100)
    file = models.FileField(upload_to=FOLDER)
    size = models.PositiveIntegerField()
    created_at = models.DateTimeField(auto_now_add=True)

    audited = False

    class Meta:
        ordering = ["id"]
        indexes = [models.Index(fields=["group"], name="artifact_group")]

    def __str__(self) -> str:
        return self.title

    @classmethod
    def throw_away_left(cls) -> int:
        """Remove files that a worker began and never finished; how many."""
        if not isinstance(default_storage, WholeFiles):
            return 0
        return default_storage.throw_away_left(FOLDER)
