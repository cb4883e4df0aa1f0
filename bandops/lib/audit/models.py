"""The audit: one row for each changed row, written by database triggers, never altered."""

from __future__ import annotations

from django.conf import settings
from django.db import models


class AuditEntry(models.Model):
    """Who changed which row from what to what, or looked at something kept private.

    ``batch`` joins the entries of one action. A model says what is special about it:
    ``audit_called``: what one of its rows is called, where the model's own name would not do;
    ``audit_said``: what is said of the actions that write it (see ``sentences``);
    ``audited = False``: not written here; ``audit_hidden``: columns left out of ``before`` and
    ``after``; ``audit_private``: columns read without their values; ``audit_noted``: columns
    each reading of which is noted; ``audit_reads``: relations its name needs; ``audit_undone``:
    values it has after an undo; ``audit_final``: its rows are said, sent or somebody else's, so
    an action that wrote them is not taken back in the history; ``audit_directors``: taken back
    by the director alone; ``audit_keepers``: by the equipment manager, too.
    """

    class Op(models.TextChoices):
        INSERT = "insert", "added"
        UPDATE = "update", "changed"
        DELETE = "delete", "removed"
        VIEW = "view", "looked at"

    at = models.DateTimeField()
    actor_id = models.BigIntegerField(null=True)
    actor_label = models.CharField(max_length=254, blank=True, default="")
    action = models.CharField(max_length=100, blank=True, default="")
    batch = models.CharField(max_length=36, blank=True, default="")
    table = models.CharField(max_length=64)
    row_id = models.CharField(max_length=64)
    op = models.CharField(max_length=8, choices=Op.choices)
    before = models.JSONField(null=True)
    after = models.JSONField(null=True)

    audited = False

    class Meta:
        ordering = ["-id"]
        indexes = [
            models.Index(fields=["table", "row_id"], name="audit_row"),
            models.Index(fields=["batch"], name="audit_batch"),
        ]

    def __str__(self) -> str:
        return f"{self.action}: {self.table} {self.row_id} {self.op}"


class TakenBack(models.Model):
    """An action that was taken back, by its batch."""

    batch = models.CharField(max_length=36, unique=True)
    by = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, on_delete=models.SET_NULL, related_name="+"
    )
    at = models.DateTimeField(auto_now_add=True)

    audit_called = "action taken back"
    audit_said = {
        "take back": "took an action back",
    }
    audit_final = True

    def __str__(self) -> str:
        return f"taken back by {self.by}"
