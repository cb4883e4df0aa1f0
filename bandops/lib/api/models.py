"""Keys for programs."""

from __future__ import annotations

from django.conf import settings
from django.db import models


class ApiToken(models.Model):
    """A program's key to what its account may do, within ``scopes``. Only a digest is kept."""

    user = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.CASCADE, related_name="api_tokens"
    )
    name = models.CharField(max_length=60)
    digest = models.CharField(max_length=64, unique=True, editable=False)
    scopes = models.JSONField(default=list)
    made_at = models.DateTimeField(auto_now_add=True)
    expires_at = models.DateTimeField()
    revoked_at = models.DateTimeField(null=True, editable=False)
    used_at = models.DateTimeField(null=True, editable=False)

    audit_called = "key of a program"
    audit_said = {
        "make API token": "made the API token “{name}”",
        "revoke API token": "revoked the API token “{name}”",
    }
    audit_hidden = ("digest", "used_at")
    audit_final = True

    class Meta:
        ordering = ["-id"]

    def __str__(self) -> str:
        return self.name
