"""Numbered things, their sizes, and where each has been."""

from __future__ import annotations

from typing import Any

from django.conf import settings
from django.db import models
from django.db.models import F, Q

from bandops.lib.bounds import between, within
from roster.equipment.enums import Condition, ItemState
from roster.equipment.models.kinds import MOST_TICKS, Band, Figure, Kind
from roster.people.enums import Merging
from roster.people.models import Member

MOST_FIGURE = MOST_TICKS
CONDITIONS = (0, 3)


def tag_key(tag: str) -> str:
    """What a tag is known by: however it is typed or scanned."""
    return "".join(c for c in tag.upper() if c.isalnum())


class Item(models.Model):
    """One numbered thing. ``part_of`` links the parts of one (a bell to its body); ``place`` says
    where it is kept."""

    kind = models.ForeignKey(Kind, on_delete=models.PROTECT, related_name="items")
    tag = models.CharField(max_length=30)
    tag_key = models.CharField(max_length=30, unique=True, editable=False)
    state = models.CharField(
        max_length=10, choices=ItemState.choices, default=ItemState.IN_STORE, editable=False
    )
    condition = models.PositiveSmallIntegerField(
        choices=Condition.choices, default=Condition.GOOD, validators=between(*CONDITIONS)
    )
    left_handed = models.BooleanField(default=False)
    place = models.CharField("where it is kept", max_length=60, blank=True)
    part_of = models.ForeignKey(
        "self", null=True, blank=True, on_delete=models.PROTECT, related_name="linked"
    )
    note = models.CharField(max_length=200, blank=True)

    audit_said = {
        "save item": "saved the item {tag}",
        "add items": "added items of {kind}",
        "issue": "handed out {tag}",
        "return": "took back {tag}",
        "move item": "set {tag} to {state}",
        "open ticket": "noted work on {tag}",
        "close ticket": "took {tag} back from work",
        "send out": "sent out items of {kind}",
        "count back": "counted back items of {kind}",
    }
    audit_keepers = True

    class Meta:
        ordering = ["kind__order", "tag_key"]
        constraints = [
            models.CheckConstraint(
                condition=Q(state__in=ItemState.values) & within("condition", *CONDITIONS),
                name="item_known",
            ),
            models.CheckConstraint(
                condition=Q(part_of__isnull=True) | ~Q(part_of=F("id")), name="item_part_of_another"
            ),
            models.CheckConstraint(condition=~Q(tag_key=""), name="item_has_a_tag"),
        ]

    def __str__(self) -> str:
        return self.tag

    def save(self, *args: Any, **kwargs: Any) -> None:
        self.tag = self.tag.strip()
        self.tag_key = tag_key(self.tag)[:30]
        super().save(*args, **kwargs)


class ItemFigure(models.Model):
    """One figure of an item's size: ticks of the figure's unit, or a named size."""

    item = models.ForeignKey(Item, on_delete=models.CASCADE, related_name="sizes")
    figure = models.ForeignKey(Figure, on_delete=models.PROTECT, related_name="sizes")
    ticks = models.PositiveSmallIntegerField(
        null=True, blank=True, validators=between(1, MOST_TICKS)
    )
    band = models.ForeignKey(
        Band, null=True, blank=True, on_delete=models.PROTECT, related_name="sizes"
    )

    audit_called = "size of an item"
    audit_said = {
        "save item": "set the size of {item}",
        "add items": "set the sizes of items",
        "close ticket": "set the size of {item}",
    }
    audit_keepers = True

    class Meta:
        ordering = ["figure__order", "id"]
        constraints = [
            models.UniqueConstraint(fields=["item", "figure"], name="item_figure_once"),
            models.CheckConstraint(
                condition=Q(ticks__isnull=True, band__isnull=False)
                | (Q(ticks__isnull=False, band__isnull=True) & within("ticks", 1, MOST_TICKS)),
                name="item_figure_is_one",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.item}: {self.words}"

    @property
    def words(self) -> str:
        """'42 in', 'L'."""
        return self.band.name if self.band is not None else self.figure.words(self.ticks or 0)


class Move(models.Model):
    """An item went from one state to another; its history."""

    item = models.ForeignKey(Item, on_delete=models.CASCADE, related_name="moves")
    at = models.DateTimeField()
    by = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, blank=True, on_delete=models.SET_NULL, related_name="+"
    )
    before = models.CharField(max_length=10, choices=ItemState.choices)
    after = models.CharField(max_length=10, choices=ItemState.choices)
    member = models.ForeignKey(
        Member, null=True, blank=True, on_delete=models.SET_NULL, related_name="item_moves"
    )
    note = models.CharField(max_length=200, blank=True)

    audit_called = "move of an item"
    audit_said = {
        "issue": "handed out {item}",
        "return": "took back {item}",
        "move item": "moved {item}",
        "open ticket": "noted work on {item}",
        "close ticket": "took {item} back from work",
        "send out": "sent {item} out",
        "count back": "counted {item} back",
    }
    merging = Merging.KEEP
    audit_keepers = True

    class Meta:
        ordering = ["-at", "-id"]
        constraints = [
            models.CheckConstraint(
                condition=Q(before__in=ItemState.values) & Q(after__in=ItemState.values),
                name="move_known",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.item}: {self.after}"
