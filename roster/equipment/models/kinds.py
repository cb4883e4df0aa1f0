"""Kinds of pieces, the figures their sizes have, and named sizes."""

from __future__ import annotations

from typing import Any

from django.db import models
from django.db.models import F, Q

from bandops.lib.bounds import MOST_ORDER, between, within
from bandops.lib.names import plain
from roster.equipment.core.sizes import Unit, written
from roster.equipment.enums import Measure, UnitChoice, Use
from roster.people.models import Instrument

MOST_SPARES = 20
MOST_EASE = 1_000
MOST_TICKS = 10_000
MOST_CENTS = 10_000_000


class Kind(models.Model):
    """Jackets, trousers, sousaphones, lockers …

    ``instruments``: whose players need one; where some is named, the school's instruments are
    counted by the items. ``handed`` kinds come left-handed too; ``spares`` are to be left in
    every size; ``on_truck`` goes along to events.
    """

    name = models.CharField(max_length=60)
    name_key = models.CharField(max_length=60, unique=True, editable=False)
    use = models.CharField(max_length=12, choices=Use.choices, default=Use.UNIFORM)
    order = models.PositiveSmallIntegerField(default=0, validators=between(0, MOST_ORDER))
    handed = models.BooleanField("there are left-handed ones", default=False)
    spares = models.PositiveSmallIntegerField(
        "spares to keep in every size", default=0, validators=between(0, MOST_SPARES)
    )
    on_truck = models.BooleanField("goes on the truck", default=False)
    cents = models.PositiveIntegerField(
        "what a lost one costs", default=0, validators=between(0, MOST_CENTS)
    )
    instruments = models.ManyToManyField(Instrument, blank=True, related_name="kinds")

    audit_said = {
        "save kind": "saved the kind “{name}”",
        "remove kind": "removed the kind “{name}”",
    }
    audit_keepers = True

    class Meta:
        ordering = ["order", "id"]
        constraints = [
            models.CheckConstraint(condition=Q(use__in=Use.values), name="kind_use_known"),
            models.CheckConstraint(
                condition=within("order", 0, MOST_ORDER), name="kind_order_in_bounds"
            ),
            models.CheckConstraint(
                condition=within("spares", 0, MOST_SPARES), name="kind_spares_in_bounds"
            ),
            models.CheckConstraint(
                condition=within("cents", 0, MOST_CENTS), name="kind_cents_in_bounds"
            ),
        ]

    def __str__(self) -> str:
        return self.name

    def save(self, *args: Any, **kwargs: Any) -> None:
        self.name = self.name.strip()
        self.name_key = plain(self.name)[:60]
        super().save(*args, **kwargs)


class Figure(models.Model):
    """One figure of a kind's size, and the measurement it has to fit.

    All numbers are ticks of ``unit`` (see ``core.sizes``): a piece fits as it is from
    ``ease_from`` to ``ease_to`` more than what was measured. ``let_out`` and ``take_in`` say how
    far a tailor can go, for ``alter_cents``. A figure with ``bands`` has named sizes instead.
    """

    kind = models.ForeignKey(Kind, on_delete=models.CASCADE, related_name="figures")
    measure = models.CharField(max_length=10, choices=Measure.choices)
    unit = models.CharField(max_length=8, choices=UnitChoice.choices, default=UnitChoice.INCH)
    order = models.PositiveSmallIntegerField(default=0, validators=between(0, MOST_ORDER))
    ease_from = models.SmallIntegerField(default=0, validators=between(-MOST_EASE, MOST_EASE))
    ease_to = models.SmallIntegerField(default=0, validators=between(-MOST_EASE, MOST_EASE))
    let_out = models.PositiveSmallIntegerField(default=0, validators=between(0, MOST_EASE))
    take_in = models.PositiveSmallIntegerField(default=0, validators=between(0, MOST_EASE))
    alter_cents = models.PositiveIntegerField(default=0, validators=between(0, MOST_CENTS))
    step = models.PositiveSmallIntegerField(
        "ticks between two sizes", default=16, validators=between(1, MOST_EASE)
    )

    audit_called = "figure of a kind"
    audit_said = {"save kind": "set the figures of {kind}"}
    audit_keepers = True

    class Meta:
        ordering = ["order", "id"]
        constraints = [
            models.UniqueConstraint(fields=["kind", "measure"], name="figure_once_a_kind"),
            models.CheckConstraint(
                condition=Q(measure__in=Measure.values) & Q(unit__in=UnitChoice.values),
                name="figure_known",
            ),
            models.CheckConstraint(
                condition=Q(ease_from__lte=F("ease_to"))
                & within("ease_from", -MOST_EASE, MOST_EASE)
                & within("ease_to", -MOST_EASE, MOST_EASE),
                name="figure_ease_in_order",
            ),
            models.CheckConstraint(
                condition=within("let_out", 0, MOST_EASE)
                & within("take_in", 0, MOST_EASE)
                & within("alter_cents", 0, MOST_CENTS)
                & within("order", 0, MOST_ORDER)
                & within("step", 1, MOST_EASE),
                name="figure_in_bounds",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.kind}, {self.get_measure_display()}"

    def words(self, ticks: int) -> str:
        """A number of its ticks as people write it."""
        return written(ticks, Unit(self.unit))


class Band(models.Model):
    """A named size of a figure: bodies from ``low`` (included) to ``high`` (not)."""

    figure = models.ForeignKey(Figure, on_delete=models.CASCADE, related_name="bands")
    name = models.CharField(max_length=20)
    low = models.PositiveSmallIntegerField(validators=between(0, MOST_TICKS))
    high = models.PositiveSmallIntegerField(validators=between(1, MOST_TICKS))

    audit_called = "named size"
    audit_said = {"save kind": "set the named sizes of {figure}"}
    audit_keepers = True

    class Meta:
        ordering = ["low", "id"]
        constraints = [
            models.UniqueConstraint(fields=["figure", "name"], name="band_name_once"),
            models.CheckConstraint(
                condition=Q(low__lt=F("high"))
                & within("low", 0, MOST_TICKS)
                & within("high", 1, MOST_TICKS),
                name="band_in_order",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.figure}: {self.name}"
