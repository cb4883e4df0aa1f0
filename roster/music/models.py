"""Excerpts to be passed off, who hears them, and what was heard."""

from __future__ import annotations

from django.conf import settings
from django.db import models
from django.db.models import Q

from bandops.lib.bounds import MOST_ORDER, between, within
from roster.people.enums import Merging
from roster.people.models import Instrument, Member, Part, Season


class Excerpt(models.Model):
    """Some bars that everybody, an instrument or a part has to play for a hearer. ``due``: from
    that day on whoever has not passed is a risk in lineups."""

    season = models.ForeignKey(Season, on_delete=models.CASCADE, related_name="excerpts")
    name = models.CharField(max_length=80)
    instrument = models.ForeignKey(
        Instrument, null=True, blank=True, on_delete=models.CASCADE, related_name="excerpts"
    )
    part = models.ForeignKey(
        Part, null=True, blank=True, on_delete=models.CASCADE, related_name="excerpts"
    )
    due = models.DateField("to be passed by", null=True, blank=True)
    order = models.PositiveSmallIntegerField(default=0, validators=between(0, MOST_ORDER))

    audit_said = {
        "save excerpt": "saved the excerpt “{name}”",
        "remove excerpt": "removed the excerpt “{name}”",
    }

    class Meta:
        ordering = ["order", "id"]
        constraints = [
            models.UniqueConstraint(fields=["season", "name"], name="excerpt_once"),
            models.CheckConstraint(
                condition=Q(instrument__isnull=True) | Q(part__isnull=True),
                name="excerpt_for_one",
                violation_error_message="Choose an instrument or a part, not both.",
            ),
            models.CheckConstraint(
                condition=within("order", 0, MOST_ORDER), name="excerpt_order_in_bounds"
            ),
        ]

    def __str__(self) -> str:
        return self.name

    @property
    def whom(self) -> str:
        """'everybody', 'all trumpets', 'first trumpet'."""
        if self.part is not None:
            return str(self.part)
        return f"all of {self.instrument}" if self.instrument is not None else "everybody"


class SectionLeader(models.Model):
    """A member who hears the music of an instrument."""

    instrument = models.ForeignKey(
        Instrument, on_delete=models.CASCADE, related_name="section_leaders"
    )
    member = models.ForeignKey(Member, on_delete=models.CASCADE, related_name="sections_led")

    audit_said = {
        "name section leader": "had {member} lead the section of {instrument}",
        "end section leader": "took the section of {instrument} from {member}",
    }

    class Meta:
        ordering = ["instrument__order", "member__person__sort_key"]
        constraints = [
            models.UniqueConstraint(fields=["instrument", "member"], name="section_led_once"),
        ]

    def __str__(self) -> str:
        return f"{self.instrument}: {self.member}"


class Hearing(models.Model):
    """A member played an excerpt for a hearer. ``key`` is the page's: sent twice, heard once."""

    excerpt = models.ForeignKey(Excerpt, on_delete=models.CASCADE, related_name="hearings")
    member = models.ForeignKey(Member, on_delete=models.CASCADE, related_name="hearings")
    passed = models.BooleanField()
    heard_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="hearings"
    )
    heard_at = models.DateTimeField()
    key = models.UUIDField(unique=True)

    audit_called = "music heard"
    audit_said = {
        "note music heard": "heard {member} play {excerpt}",
    }
    audit_final = True
    merging = Merging.KEEP

    class Meta:
        ordering = ["heard_at", "id"]

    def __str__(self) -> str:
        return f"{self.member}, {self.excerpt}"
