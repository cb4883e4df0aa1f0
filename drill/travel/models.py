"""Who was on a list when it was last posted, and who is told of a change since."""

from __future__ import annotations

from django.conf import settings
from django.db import models

from drill.events.models import Event
from drill.publishing.enums import NoticeState
from roster.people.models import Member


class Posting(models.Model):
    """The members (ids) on an event's list when it was last posted: what people were told."""

    event = models.OneToOneField(Event, on_delete=models.CASCADE, related_name="travel_posting")
    members = models.JSONField(default=list)

    audit_called = "posted travel list"
    audit_said = {
        "post travel list": "posted the travel list for {event}",
        "take travel list back": "took the travel list for {event} back",
    }

    def __str__(self) -> str:
        return f"posted travel list of {self.event}"


class TravelNotice(models.Model):
    """What one member is told since the list changed after posting: ``along`` or not; whether it
    reached them."""

    event = models.ForeignKey(Event, on_delete=models.CASCADE, related_name="travel_notices")
    member = models.ForeignKey(Member, on_delete=models.CASCADE, related_name="travel_notices")
    along = models.BooleanField("is on the list now")
    state = models.CharField(
        max_length=20, choices=NoticeState.choices, default=NoticeState.WAITING
    )
    not_before = models.DateTimeField("waits until", null=True)
    sent_at = models.DateTimeField(null=True)
    told_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, on_delete=models.SET_NULL, related_name="+"
    )
    told_at = models.DateTimeField(null=True)

    audit_said = {
        "tell in person": "told {member} in person",
        "send notices again": "had notices emailed again",
    }

    class Meta:
        ordering = ["member__person__sort_key", "id"]
        constraints = [
            models.UniqueConstraint(fields=["event", "member"], name="travel_notice_once"),
        ]

    def __str__(self) -> str:
        return f"{self.member} {'travels' if self.along else 'does not travel'}: {self.state}"
