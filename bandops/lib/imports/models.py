"""Imports that were accepted, so that one step can undo them."""

from __future__ import annotations

import datetime

from django.conf import settings
from django.db import models
from django.utils import timezone

LONGEST_SHEET = 100
"""letters of a sheet's title"""


class ImportBatch(models.Model):
    """One accepted import; ``batch`` names its entries in the audit."""

    kind = models.CharField(max_length=40)
    filename = models.CharField(max_length=200)
    batch = models.CharField(max_length=36, unique=True)
    added = models.PositiveIntegerField(default=0)
    changed = models.PositiveIntegerField(default=0)
    by = models.ForeignKey(settings.AUTH_USER_MODEL, null=True, on_delete=models.SET_NULL)
    at = models.DateTimeField(auto_now_add=True)
    undone_at = models.DateTimeField(null=True)

    audit_called = "import"
    audit_said = {
        "import *": "imported {filename}",
        "undo import": "undid the import of {filename}",
    }
    audit_final = True

    class Meta:
        ordering = ["-id"]

    def __str__(self) -> str:
        return f"{self.filename} ({self.kind})"


KEPT = datetime.timedelta(days=2)


class ImportUpload(models.Model):
    """A file being reviewed; nothing of it is in the band's data yet.

    ``left_out`` are rows that are not saved, each with what is wrong with it (nothing for one
    that is no entry); ``taken_in`` are rows that the reader would leave out.
    """

    kind = models.CharField(max_length=40)
    filename = models.CharField(max_length=200)
    content = models.BinaryField()
    mapping = models.JSONField(default=dict)
    sheet = models.CharField(max_length=LONGEST_SHEET, blank=True, default="")
    left_out = models.JSONField(default=dict)
    taken_in = models.JSONField(default=list)
    answers = models.JSONField("rows that were accepted or corrected", default=dict)
    saved_sheets = models.JSONField(default=dict)
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.CASCADE, related_name="+")
    at = models.DateTimeField(auto_now_add=True)

    audited = False

    class Meta:
        ordering = ["-id"]

    def __str__(self) -> str:
        return self.filename

    @classmethod
    def throw_away_old(cls) -> None:
        """Files left lying go: they hold names, and nobody will save them any more."""
        cls.objects.filter(at__lt=timezone.now() - KEPT).delete()


class KnownShape(models.Model):
    """What was chosen for files of one shape: columns for the same headers, a sheet for the
    same sheets. ``shape`` is a digest of the headers or the sheets' titles."""

    kind = models.CharField(max_length=40)
    shape = models.CharField(max_length=64)
    choice = models.JSONField()

    audited = False

    class Meta:
        constraints = [models.UniqueConstraint(fields=["kind", "shape"], name="shape_once_a_kind")]

    def __str__(self) -> str:
        return f"{self.kind} {self.shape[:8]}"
