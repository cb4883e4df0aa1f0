"""The marching record: who really marched, stood by in uniform, was offered."""

from __future__ import annotations

from django.conf import settings
from django.db import models
from django.db.models import Q

from bandops.lib.bounds import between, within
from drill.events.models import Event, Segment
from drill.lineup.models import Lineup
from drill.record.enums import RecordOutcome
from roster.people.enums import Merging
from roster.people.models import Member, Season
from roster.ranks.models import Spot

MOST_POINTS, MOST_NEEDED = 100, 10_000


class MarchingRecord(models.Model):
    """An event whose marching record staff have confirmed, from the lineup that stood at the
    end."""

    event = models.OneToOneField(Event, on_delete=models.CASCADE, related_name="marching_record")
    lineup = models.ForeignKey(Lineup, on_delete=models.PROTECT, related_name="+")
    confirmed_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, on_delete=models.SET_NULL, related_name="+"
    )
    confirmed_at = models.DateTimeField(auto_now_add=True)

    audit_said = {
        "confirm record": "confirmed the record of {event}",
    }

    def __str__(self) -> str:
        return f"marching record of {self.event}"


class RecordEntry(models.Model):
    """What one member did in one segment.

    ``first_outcome`` and ``first_spot`` are what was confirmed at first; they stay when somebody
    corrects the others.
    """

    record = models.ForeignKey(MarchingRecord, on_delete=models.CASCADE, related_name="entries")
    segment = models.ForeignKey(Segment, on_delete=models.PROTECT, related_name="record_entries")
    member = models.ForeignKey(Member, on_delete=models.PROTECT, related_name="record_entries")
    spot = models.ForeignKey(
        Spot, null=True, blank=True, on_delete=models.PROTECT, related_name="record_entries"
    )
    outcome = models.CharField(max_length=12, choices=RecordOutcome.choices)
    first_outcome = models.CharField(max_length=12, choices=RecordOutcome.choices)
    first_spot = models.ForeignKey(
        Spot, null=True, blank=True, on_delete=models.PROTECT, related_name="+"
    )
    note = models.CharField("why corrected", max_length=200, blank=True)
    corrected_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, on_delete=models.SET_NULL, related_name="+"
    )
    corrected_at = models.DateTimeField(null=True)

    audit_called = "entry of the marching record"
    audit_said = {
        "correct record": "corrected the record of {member}, {segment}: {outcome}",
    }
    merging = Merging.KEEP

    class Meta:
        ordering = ["segment__order", "member__person__sort_key"]
        constraints = [
            models.UniqueConstraint(fields=["segment", "member"], name="record_entry_once"),
            models.UniqueConstraint(
                fields=["segment", "spot"],
                condition=Q(outcome=RecordOutcome.MARCHED, spot__isnull=False),
                name="one_marched_a_spot",
            ),
            models.CheckConstraint(
                condition=~Q(outcome=RecordOutcome.MARCHED) | Q(spot__isnull=False),
                name="marched_on_a_spot",
                violation_error_message="Which spot did they march?",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.member}, {self.segment}: {self.outcome}"

    @property
    def corrected(self) -> bool:
        return self.corrected_at is not None

    @property
    def now(self) -> str:
        """What the record says: 'marched 1-3'."""
        return _words(self.outcome, self.spot)

    @property
    def first(self) -> str:
        """What was confirmed at first."""
        return _words(self.first_outcome, self.first_spot)


def _words(outcome: str, spot: Spot | None) -> str:
    label = RecordOutcome(outcome).label
    return f"{label} {spot}" if outcome == RecordOutcome.MARCHED else label


class LetterRule(models.Model):
    """What a letter takes in a season: points for each performance, and how many in all."""

    season = models.OneToOneField(Season, on_delete=models.CASCADE, related_name="letter_rule")
    marched = models.PositiveSmallIntegerField(
        "points for marching", default=2, validators=between(1, MOST_POINTS)
    )
    stood_by = models.PositiveSmallIntegerField(
        "points for standing by in uniform", default=1, validators=between(0, MOST_POINTS)
    )
    needed = models.PositiveSmallIntegerField(
        "points that make a letter", default=12, validators=between(1, MOST_NEEDED)
    )

    audit_said = {
        "choose what a letter takes": "changed what a letter takes to {needed} points",
    }

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=within("marched", 1, MOST_POINTS)
                & within("stood_by", 0, MOST_POINTS)
                & within("needed", 1, MOST_NEEDED),
                name="letter_rule_in_bounds",
            ),
        ]

    def __str__(self) -> str:
        return f"letters of {self.season}"
