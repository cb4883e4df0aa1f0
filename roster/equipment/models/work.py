"""Work on items: tickets, what is sent out together, and inspections it has to be done by."""

from __future__ import annotations

from django.conf import settings
from django.db import models
from django.db.models import Q

from bandops.lib.bounds import between, within
from roster.equipment.enums import Work
from roster.equipment.models.items import Item
from roster.equipment.models.kinds import MOST_CENTS
from roster.people.models import Season


class Inspection(models.Model):
    """A day on which everything has to be there and right."""

    season = models.ForeignKey(Season, on_delete=models.CASCADE, related_name="inspections")
    date = models.DateField()
    name = models.CharField(max_length=60, default="Inspection")

    audit_said = {
        "save inspection": "set an inspection on {date}",
        "remove inspection": "removed the inspection on {date}",
    }
    audit_keepers = True

    class Meta:
        ordering = ["date", "id"]
        constraints = [
            models.UniqueConstraint(fields=["season", "date"], name="inspection_once_a_day"),
        ]

    def __str__(self) -> str:
        return self.name


class Run(models.Model):
    """Items sent out together; counted when they come back."""

    work = models.CharField(max_length=10, choices=Work.choices, default=Work.CLEANING)
    place = models.CharField("where to", max_length=80)
    sent_at = models.DateTimeField()
    sent_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, blank=True, on_delete=models.SET_NULL, related_name="+"
    )
    due = models.DateField("back by", null=True, blank=True)
    closed_at = models.DateTimeField(null=True, blank=True)

    audit_called = "items sent out"
    audit_said = {
        "send out": "sent items to {place}",
        "count back": "counted items back from {place}",
    }
    audit_keepers = True

    class Meta:
        ordering = ["-sent_at", "-id"]
        constraints = [
            models.CheckConstraint(condition=Q(work__in=Work.values), name="run_work_known"),
        ]

    def __str__(self) -> str:
        return f"{self.get_work_display()}, {self.place}"


class Ticket(models.Model):
    """Work on one item, of which one at a time is open."""

    item = models.ForeignKey(Item, on_delete=models.CASCADE, related_name="tickets")
    work = models.CharField(max_length=10, choices=Work.choices)
    what = models.CharField("what is to be done", max_length=200, blank=True)
    run = models.ForeignKey(
        Run, null=True, blank=True, on_delete=models.SET_NULL, related_name="tickets"
    )
    opened_at = models.DateTimeField()
    opened_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, blank=True, on_delete=models.SET_NULL, related_name="+"
    )
    due = models.DateField("back by", null=True, blank=True)
    closed_at = models.DateTimeField(null=True, blank=True)
    cents = models.PositiveIntegerField(
        "what it cost", null=True, blank=True, validators=between(0, MOST_CENTS)
    )

    audit_called = "work on an item"
    audit_said = {
        "open ticket": "noted {work} of {item}",
        "close ticket": "took {item} back from work",
        "send out": "sent {item} out",
        "count back": "counted {item} back",
    }
    audit_keepers = True

    class Meta:
        ordering = ["due", "opened_at", "id"]
        constraints = [
            models.UniqueConstraint(
                fields=["item"], condition=Q(closed_at__isnull=True), name="one_open_ticket"
            ),
            models.CheckConstraint(condition=Q(work__in=Work.values), name="ticket_work_known"),
            models.CheckConstraint(
                condition=within("cents", 0, MOST_CENTS), name="ticket_cents_in_bounds"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.get_work_display()} of {self.item}"
