"""Private calendar addresses."""

from __future__ import annotations

import secrets

from django.conf import settings
from django.db import models
from django.db.models import Q


def new_token() -> str:
    return secrets.token_urlsafe(32)


class CalendarFeed(models.Model):
    """One account's private calendar address; a revoked one answers nothing any more."""

    user = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.CASCADE, related_name="calendar_feeds"
    )
    token = models.CharField(max_length=64, unique=True, default=new_token, editable=False)
    made_at = models.DateTimeField(auto_now_add=True)
    revoked_at = models.DateTimeField(null=True)

    audit_called = "calendar address"
    audit_said = {
        "make calendar address": "made a calendar address for {user}",
        "switch off calendar address": "switched off the calendar address of {user}",
    }
    audit_hidden = ("token",)

    audit_final = True

    class Meta:
        ordering = ["-id"]
        constraints = [
            models.UniqueConstraint(
                fields=["user"], condition=Q(revoked_at__isnull=True), name="one_feed_a_user"
            ),
        ]

    def __str__(self) -> str:
        return f"calendar of {self.user}"
