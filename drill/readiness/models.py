"""What is on the truck."""

from __future__ import annotations

from django.conf import settings
from django.db import models
from django.db.models import F, Q

from drill.events.models import Event
from roster.equipment.models import Item


class Loaded(models.Model):
    """An item went on the truck for an event, and came off it again."""

    event = models.ForeignKey(Event, on_delete=models.CASCADE, related_name="loaded")
    item = models.ForeignKey(Item, on_delete=models.CASCADE, related_name="loaded")
    out_at = models.DateTimeField()
    out_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, on_delete=models.SET_NULL, related_name="+"
    )
    back_at = models.DateTimeField(null=True, blank=True)

    audit_called = "item on the truck"
    audit_said = {
        "load": "loaded {item}",
        "unload": "unloaded {item}",
    }

    class Meta:
        verbose_name_plural = "loaded"
        ordering = ["id"]
        constraints = [
            models.UniqueConstraint(fields=["event", "item"], name="loaded_once"),
            models.CheckConstraint(
                condition=Q(back_at__isnull=True) | Q(back_at__gte=F("out_at")),
                name="unloaded_after",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.item}, {self.event}"
