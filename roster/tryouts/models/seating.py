"""Seating: the selected in spots, until they become members who hold them."""

from __future__ import annotations

from django.conf import settings
from django.db import models
from django.db.models import F, Q

from bandops.lib.bounds import between, within
from roster.ranks.models import Spot
from roster.tryouts.models.candidates import Candidate
from roster.tryouts.models.tryouts import Tryout

MOST_WISH = 20


class SeatingPlan(models.Model):
    """A tryout's seating with how much each wish counts. ``applied_at`` says when members were
    made of it."""

    tryout = models.OneToOneField(Tryout, on_delete=models.CASCADE, related_name="seating")
    balance = models.PositiveSmallIntegerField(
        "strength alike in all ranks", default=1, validators=between(0, MOST_WISH)
    )
    company = models.PositiveSmallIntegerField(
        "new people beside veterans", default=4, validators=between(0, MOST_WISH)
    )
    home = models.PositiveSmallIntegerField(
        "returners near their old spot", default=2, validators=between(0, MOST_WISH)
    )
    height = models.PositiveSmallIntegerField(
        "smooth height", default=1, validators=between(0, MOST_WISH)
    )
    experience = models.PositiveSmallIntegerField(
        "experience where a spot needs it", default=10, validators=between(0, MOST_WISH)
    )
    made_at = models.DateTimeField(null=True, blank=True)
    applied_at = models.DateTimeField(null=True, blank=True)
    applied_by = models.ForeignKey(
        settings.AUTH_USER_MODEL,
        null=True,
        blank=True,
        on_delete=models.SET_NULL,
        related_name="+",
    )

    audit_called = "seating"
    audit_said = {
        "save seating rules": "changed what counts in the seating of {tryout}",
        "seat the selected": "seated the selected of {tryout}",
        "make members of the selected": "made members of the selected of {tryout}",
    }

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=within("balance", 0, MOST_WISH)
                & within("company", 0, MOST_WISH)
                & within("home", 0, MOST_WISH)
                & within("height", 0, MOST_WISH)
                & within("experience", 0, MOST_WISH),
                name="seating_wishes_in_bounds",
            ),
        ]

    def __str__(self) -> str:
        return f"seating of {self.tryout}"


class Seat(models.Model):
    """A selected candidate in a spot; a ``locked`` one stays there."""

    plan = models.ForeignKey(SeatingPlan, on_delete=models.CASCADE, related_name="seats")
    candidate = models.ForeignKey(Candidate, on_delete=models.CASCADE, related_name="seats")
    spot = models.ForeignKey(Spot, on_delete=models.CASCADE, related_name="seats")
    locked = models.BooleanField(default=False)

    audit_said = {
        "seat the selected": "seated {candidate} in {spot}",
        "move seat": "moved {candidate} to {spot}",
        "lock seat": "changed whether {candidate} stays in {spot}",
    }

    class Meta:
        ordering = ["spot__rank__order", "spot__number"]
        constraints = [
            models.UniqueConstraint(fields=["plan", "candidate"], name="one_seat_a_candidate"),
            models.UniqueConstraint(fields=["plan", "spot"], name="one_candidate_a_seat"),
        ]

    def __str__(self) -> str:
        return f"{self.candidate}: {self.spot}"


class KeepApart(models.Model):
    """Two candidates who are not seated in one rank. Why is not written anywhere."""

    tryout = models.ForeignKey(Tryout, on_delete=models.CASCADE, related_name="kept_apart")
    first = models.ForeignKey(Candidate, on_delete=models.CASCADE, related_name="+")
    second = models.ForeignKey(Candidate, on_delete=models.CASCADE, related_name="+")

    audit_called = "two candidates kept apart"
    audit_said = {
        "keep apart": "kept two candidates apart",
        "let together": "let two candidates be together",
    }
    audit_private = ("first_id", "second_id")

    class Meta:
        verbose_name_plural = "candidates kept apart"
        constraints = [
            models.UniqueConstraint(fields=["first", "second"], name="kept_apart_once"),
            models.CheckConstraint(condition=Q(first__lt=F("second")), name="kept_apart_in_order"),
        ]

    def __str__(self) -> str:
        return "two candidates kept apart"
