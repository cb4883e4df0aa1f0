"""What was sent and done, by its key."""

from __future__ import annotations

import datetime

from django.db import models
from django.utils import timezone

KEPT = datetime.timedelta(days=3)
"""for as long a page left open, or a request that a network repeats, may come again"""


class SentForm(models.Model):
    """One form or request that was done. ``where`` is the page that its answer led to, ``answer``
    what a program was answered."""

    key = models.CharField(max_length=64, unique=True)
    at = models.DateTimeField(auto_now_add=True, db_index=True)
    where = models.TextField(blank=True, default="")
    answer = models.JSONField(null=True)

    audited = False

    def __str__(self) -> str:
        return self.key

    @classmethod
    def throw_away_old(cls) -> int:
        """Forget what is no longer sent again; how many it was."""
        return cls.objects.filter(at__lt=timezone.now() - KEPT).delete()[0]
