"""Imports that were accepted, so that one step can undo them."""

from __future__ import annotations

from django.conf import settings
from django.db import models


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

    audit_final = True

    class Meta:
        ordering = ["-id"]

    def __str__(self) -> str:
        return f"{self.filename} ({self.kind})"


class ImportUpload(models.Model):
    """A file being reviewed; nothing of it is in the band's data yet."""

    kind = models.CharField(max_length=40)
    filename = models.CharField(max_length=200)
    content = models.BinaryField()
    mapping = models.JSONField(default=dict)
    answers = models.JSONField("rows that were accepted or corrected", default=dict)
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.CASCADE, related_name="+")
    at = models.DateTimeField(auto_now_add=True)

    audited = False

    class Meta:
        ordering = ["-id"]

    def __str__(self) -> str:
        return self.filename
