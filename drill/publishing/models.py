"""Notices of a published lineup."""

from __future__ import annotations

import json
from hashlib import md5

from django.conf import settings
from django.db import models

from drill.lineup.models import Lineup
from drill.publishing.enums import NoticeState
from roster.people.enums import Merging
from roster.people.models import Member


class Notice(models.Model):
    """What one member is told about one published revision, and whether it reached them."""

    lineup = models.ForeignKey(Lineup, on_delete=models.CASCADE, related_name="notices")
    member = models.ForeignKey(Member, on_delete=models.CASCADE, related_name="notices")
    state = models.CharField(
        max_length=20, choices=NoticeState.choices, default=NoticeState.WAITING
    )
    content = models.JSONField(default=dict)
    sent_at = models.DateTimeField(null=True)
    seen_at = models.DateTimeField(null=True)
    confirmed_at = models.DateTimeField(null=True)
    not_before = models.DateTimeField("waits until", null=True)
    slip_printed_at = models.DateTimeField(null=True)
    told_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, on_delete=models.SET_NULL, related_name="+"
    )
    told_at = models.DateTimeField(null=True)

    audit_said = {
        "see notice": "saw what changed",
        "confirm notice": "confirmed what changed",
        "tell in person": "told {member} in person",
        "take back told in person": "said that {member} was not told after all",
        "send notices again": "had notices emailed again",
        "send notices now": "had notices emailed now",
        "print slips": "printed slips",
    }
    audit_final = True

    merging = Merging.STAY

    class Meta:
        ordering = ["member__person__sort_key", "id"]
        constraints = [
            models.UniqueConstraint(fields=["lineup", "member"], name="notice_once"),
        ]

    def __str__(self) -> str:
        return f"{self.member}: {self.state}"

    @property
    def news_key(self) -> str:
        """Which news this is: a page that showed other news cannot say that they are told."""
        words = json.dumps(self.content, sort_keys=True).encode()
        return md5(words, usedforsecurity=False).hexdigest()
