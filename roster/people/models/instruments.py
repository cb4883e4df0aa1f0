"""Instruments and the parts played on them."""

from __future__ import annotations

from django.db import models
from django.db.models import Q

from bandops.lib.bounds import MOST_ORDER, between, within
from roster.people.models.seasons import Season

MOST_STOCK = 10_000


class Instrument(models.Model):
    """A kind of instrument (flags and drum majors count as one).

    ``school_stock`` is how many of the school's can be handed out; empty when players bring
    their own and the number does not matter.
    """

    season = models.ForeignKey(Season, on_delete=models.CASCADE, related_name="instruments")
    name = models.CharField(max_length=60)
    order = models.PositiveSmallIntegerField(default=0, validators=between(0, MOST_ORDER))
    school_stock = models.PositiveSmallIntegerField(
        "the school's, ready to hand out",
        null=True,
        blank=True,
        validators=between(0, MOST_STOCK),
    )

    audit_said = {
        "save instrument": "saved {name}",
        "remove instrument": "removed {name}",
        "add parts": "added {name}",
    }

    class Meta:
        ordering = ["order", "name"]
        constraints = [
            models.UniqueConstraint(fields=["season", "name"], name="instrument_once"),
            models.CheckConstraint(
                condition=within("order", 0, MOST_ORDER) & within("school_stock", 0, MOST_STOCK),
                name="instrument_in_bounds",
            ),
        ]

    def __str__(self) -> str:
        return self.name


class Part(models.Model):
    """A line of the music; ``code`` is its short name in files."""

    season = models.ForeignKey(Season, on_delete=models.CASCADE, related_name="parts")
    instrument = models.ForeignKey(Instrument, on_delete=models.PROTECT, related_name="parts")
    name = models.CharField(max_length=60)
    code = models.SlugField(max_length=40)
    order = models.PositiveSmallIntegerField(default=0, validators=between(0, MOST_ORDER))

    audit_said = {
        "save part": "saved the part {name}",
        "remove part": "removed the part {name}",
        "add part": "added the part {name}",
        "add parts": "added the part {name}",
        "split part": "split a part: {name}",
    }

    class Meta:
        ordering = ["instrument__order", "order", "name"]
        constraints = [
            models.UniqueConstraint(fields=["season", "code"], name="part_code_once"),
            models.CheckConstraint(condition=~Q(code=""), name="part_has_code"),
            models.CheckConstraint(
                condition=within("order", 0, MOST_ORDER), name="part_order_in_bounds"
            ),
        ]

    def __str__(self) -> str:
        return self.name
