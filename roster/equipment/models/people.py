"""What is known of people for their fitting, and who waits on fitting day."""

from __future__ import annotations

import uuid

from django.conf import settings
from django.db import models
from django.db.models import Q

from bandops.lib.bounds import between, within
from roster.equipment.core.sizes import Unit, written
from roster.equipment.enums import Measure, UnitChoice
from roster.equipment.models.kinds import MOST_TICKS
from roster.people.enums import Merging
from roster.people.models import Member, Person


class Wearer(models.Model):
    """What a fitting heeds of a person beside measurements."""

    person = models.OneToOneField(Person, on_delete=models.CASCADE, related_name="wearer")
    left_handed = models.BooleanField(default=False)
    growing = models.BooleanField("still growing", default=False)

    audit_called = "fitting of a person"
    audit_said = {"measure": "noted how {person} is fitted"}
    audit_private = ("left_handed", "growing")
    audit_reads = ("person",)
    audit_keepers = True

    def __str__(self) -> str:
        return str(self.person)


class Measurement(models.Model):
    """One figure of a person on one day, in the unit it was taken in. ``converted`` ones were
    reckoned from another unit, not taken. ``key`` is the device's."""

    person = models.ForeignKey(Person, on_delete=models.CASCADE, related_name="measurements")
    measure = models.CharField(max_length=10, choices=Measure.choices)
    ticks = models.PositiveSmallIntegerField(validators=between(1, MOST_TICKS))
    unit = models.CharField(max_length=8, choices=UnitChoice.choices)
    taken_on = models.DateField()
    taken_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, blank=True, on_delete=models.SET_NULL, related_name="+"
    )
    converted = models.BooleanField(default=False)
    key = models.UUIDField(default=uuid.uuid4)

    audit_said = {
        "measure": "measured {person}",
        "convert": "converted a measurement of {person}",
        "remove measurement": "removed a measurement of {person}",
    }
    audit_private = ("measure", "ticks", "unit", "converted")
    audit_reads = ("person",)
    merging = Merging.KEEP
    audit_keepers = True

    class Meta:
        ordering = ["-taken_on", "-id"]
        constraints = [
            models.UniqueConstraint(fields=["key", "measure"], name="measurement_sent_once"),
            models.CheckConstraint(
                condition=Q(measure__in=Measure.values) & Q(unit__in=UnitChoice.values),
                name="measurement_known",
            ),
            models.CheckConstraint(
                condition=within("ticks", 1, MOST_TICKS), name="measurement_in_bounds"
            ),
        ]

    def __str__(self) -> str:
        return f"measurement of {self.person}"

    @property
    def words(self) -> str:
        """'38 1/2 in'."""
        return written(self.ticks, Unit(self.unit))


class InLine(models.Model):
    """A member who waits for their fitting, or was served."""

    member = models.ForeignKey(Member, on_delete=models.CASCADE, related_name="fitting_lines")
    came_at = models.DateTimeField()
    done_at = models.DateTimeField(null=True, blank=True)
    key = models.UUIDField(unique=True, default=uuid.uuid4)

    audit_called = "place in the fitting line"
    audit_said = {
        "join line": "put {member} in the fitting line",
        "leave line": "took {member} out of the fitting line",
    }
    audit_keepers = True

    class Meta:
        ordering = ["came_at", "id"]
        constraints = [
            models.UniqueConstraint(
                fields=["member"], condition=Q(done_at__isnull=True), name="in_line_once"
            ),
        ]

    def __str__(self) -> str:
        return str(self.member)
