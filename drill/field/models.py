"""How a band writes its coordinates, and fields of its own."""

from __future__ import annotations

from django.db import models
from django.db.models import Q

from bandops.lib.bounds import between
from drill.field.core.field import FIELD_WIDTH, UNITS_PER_INCH, UNITS_PER_STEP
from drill.field.core.spoken import Style
from drill.field.enums import DepthDisplay, Precision, SeenFrom
from roster.people.models import Season

LONGEST_STEP, FASTEST = 10 * UNITS_PER_STEP, 300


class DrillSettings(models.Model):
    """A season's way to write coordinates, and what its checks of moves warn about.

    ``largest_step`` and ``closest_gap`` are in 1/32 inch; a ``StepLimit`` goes before the first.
    """

    season = models.OneToOneField(Season, on_delete=models.CASCADE, related_name="drill_settings")
    seen_from = models.CharField(
        max_length=10, choices=SeenFrom.choices, default=SeenFrom.PRESS_BOX
    )
    precision = models.CharField(
        max_length=10, choices=Precision.choices, default=Precision.QUARTER
    )
    depth = models.CharField(
        "depth of the field",
        max_length=10,
        choices=DepthDisplay.choices,
        default=DepthDisplay.EXACT,
    )
    largest_step = models.PositiveIntegerField(
        default=36 * UNITS_PER_INCH, validators=between(UNITS_PER_INCH, LONGEST_STEP)
    )
    closest_gap = models.PositiveIntegerField(
        default=UNITS_PER_STEP, validators=between(0, LONGEST_STEP)
    )

    audit_called = "drill settings"
    audit_said = {
        "change how coordinates are written": "changed how coordinates are written",
        "save move settings": "changed what moves are checked for",
    }

    def __str__(self) -> str:
        return f"drill settings of {self.season}"

    @property
    def style(self) -> Style:
        """How dots and distances are written."""
        return Style(
            from_field=self.seen_from == SeenFrom.FIELD,
            sixteenths=self.precision == Precision.SIXTEENTH,
            rounded=self.depth == DepthDisplay.ROUNDED,
        )


class CustomField(models.Model):
    """A field of the band's own by what it is: its hashes, in 1/32 inch from the front sideline."""

    season = models.ForeignKey(Season, on_delete=models.CASCADE, related_name="custom_fields")
    name = models.CharField(max_length=40)
    front_hash = models.PositiveIntegerField(validators=between(1, FIELD_WIDTH - 1))
    back_hash = models.PositiveIntegerField(validators=between(1, FIELD_WIDTH - 1))

    audit_called = "field"
    audit_said = {
        "save field": "saved the field {name}",
        "remove field": "removed the field {name}",
    }

    class Meta:
        ordering = ["name"]
        constraints = [
            models.UniqueConstraint(fields=["season", "name"], name="custom_field_once"),
            models.CheckConstraint(
                condition=Q(front_hash__gt=0, back_hash__lt=FIELD_WIDTH)
                & Q(front_hash__lt=models.F("back_hash")),
                name="hashes_on_the_field_in_order",
                violation_error_message="The front hash stands in front of the back hash, "
                "both between the sidelines.",
            ),
        ]

    def __str__(self) -> str:
        return self.name
