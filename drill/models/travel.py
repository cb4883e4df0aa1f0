"""The travel list of an event with a limit."""

from __future__ import annotations

from django.conf import settings
from django.db import models
from django.db.models import Q

from drill.enums import TravelRole, TravelState
from drill.models.events import Event
from roster.models import Member


class TravelList(models.Model):
    """Who goes along. Once posted, members who are not on it cannot march the event."""

    event = models.OneToOneField(Event, on_delete=models.CASCADE, related_name="travel_list")
    state = models.CharField(max_length=10, choices=TravelState.choices, default=TravelState.DRAFT)
    made_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, on_delete=models.SET_NULL, related_name="+"
    )
    posted_at = models.DateTimeField(null=True)

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=Q(state=TravelState.DRAFT, posted_at__isnull=True)
                | Q(state=TravelState.POSTED, posted_at__isnull=False),
                name="posted_travel_list_has_time",
            ),
        ]

    def __str__(self) -> str:
        return f"travel list of {self.event}"


class Traveller(models.Model):
    """A member on the list, and as what they come."""

    list = models.ForeignKey(TravelList, on_delete=models.CASCADE, related_name="travellers")
    member = models.ForeignKey(Member, on_delete=models.PROTECT, related_name="travels")
    role = models.CharField(max_length=10, choices=TravelRole.choices)

    class Meta:
        ordering = ["member__person__sort_key"]
        constraints = [models.UniqueConstraint(fields=["list", "member"], name="travels_once")]

    def __str__(self) -> str:
        return f"{self.member} ({self.role})"
