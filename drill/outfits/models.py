"""Which kinds of pieces an event or a show asks for, and who goes without."""

from __future__ import annotations

from django.db import models
from django.db.models import Q

from drill.events.models import Event
from drill.shows.models import Show
from roster.equipment.models import Kind
from roster.people.enums import Merging
from roster.people.models import Instrument, Member


class Worn(models.Model):
    """A kind that is worn at an event, or wherever a show is marched, by the players of some
    instruments (by all of them where none is named)."""

    event = models.ForeignKey(
        Event, null=True, blank=True, on_delete=models.CASCADE, related_name="worn"
    )
    show = models.ForeignKey(
        Show, null=True, blank=True, on_delete=models.CASCADE, related_name="worn"
    )
    kind = models.ForeignKey(Kind, on_delete=models.PROTECT, related_name="worn")
    instruments = models.ManyToManyField(Instrument, blank=True, related_name="worn")

    audit_called = "piece of a uniform"
    audit_said = {
        "set uniform": "set what is worn",
        "copy event": "took over what is worn",
    }

    class Meta:
        verbose_name_plural = "worn"
        ordering = ["kind__order", "id"]
        constraints = [
            models.UniqueConstraint(fields=["event", "kind"], name="worn_once_an_event"),
            models.UniqueConstraint(fields=["show", "kind"], name="worn_once_a_show"),
            models.CheckConstraint(
                condition=Q(event__isnull=False, show__isnull=True)
                | Q(event__isnull=True, show__isnull=False),
                name="worn_at_one",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.kind}, {self.event or self.show}"


class Excused(models.Model):
    """Staff's word that a member needs no piece of a kind for an event: they wear their own, or
    march without."""

    event = models.ForeignKey(Event, on_delete=models.CASCADE, related_name="excused")
    member = models.ForeignKey(Member, on_delete=models.CASCADE, related_name="excused")
    kind = models.ForeignKey(Kind, on_delete=models.PROTECT, related_name="excused")

    audit_called = "piece not needed"
    audit_said = {
        "excuse": "said that {member} needs no {kind}",
        "excuse no more": "said that {member} needs a {kind} after all",
    }
    merging = Merging.MOVE

    class Meta:
        verbose_name_plural = "excused"
        ordering = ["id"]
        constraints = [
            models.UniqueConstraint(fields=["event", "member", "kind"], name="excused_once"),
        ]

    def __str__(self) -> str:
        return f"{self.member}, {self.kind}"
