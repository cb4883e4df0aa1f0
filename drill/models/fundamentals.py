"""Fundamentals of the band's own, who has passed which, and sequences to judge them by."""

from __future__ import annotations

from django.conf import settings
from django.db import models
from django.db.models import Q

from roster.models import Member, Season


class Fundamental(models.Model):
    """A basic movement of the band's own, or its way of one that everybody has (same ``code``).

    ``definition`` is what ``drill.core.fundamentals`` reads.
    """

    season = models.ForeignKey(Season, on_delete=models.CASCADE, related_name="fundamentals")
    code = models.SlugField(max_length=40)
    name = models.CharField(max_length=60)
    definition = models.JSONField()

    class Meta:
        ordering = ["name"]
        constraints = [
            models.UniqueConstraint(fields=["season", "code"], name="fundamental_once"),
            models.UniqueConstraint(fields=["season", "name"], name="fundamental_name_once"),
        ]

    def __str__(self) -> str:
        return self.name


class PassedFundamental(models.Model):
    """A member has shown a fundamental to staff."""

    member = models.ForeignKey(Member, on_delete=models.CASCADE, related_name="passed_fundamentals")
    code = models.SlugField(max_length=40)
    passed_on = models.DateField()
    noted_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, on_delete=models.SET_NULL, related_name="+"
    )

    class Meta:
        ordering = ["member", "code"]
        constraints = [
            models.UniqueConstraint(fields=["member", "code"], name="passed_once"),
        ]

    def __str__(self) -> str:
        return f"{self.member}: {self.code}"


class EvaluationSequence(models.Model):
    """A sequence of fundamentals to judge candidates by, as it was made.

    ``moves`` holds a list of [code, counts] for each group, in order; ``square`` is the side of
    the square it stays in, in 8-to-5 steps.
    """

    season = models.ForeignKey(
        Season, on_delete=models.CASCADE, related_name="evaluation_sequences"
    )
    label = models.CharField(max_length=60)
    seed = models.PositiveIntegerField()
    counts = models.PositiveSmallIntegerField()
    square = models.PositiveSmallIntegerField()
    codes = models.JSONField()
    moves = models.JSONField()
    made_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, on_delete=models.SET_NULL, related_name="+"
    )
    made_at = models.DateTimeField(auto_now_add=True)

    class Meta:
        ordering = ["label"]
        constraints = [
            models.UniqueConstraint(fields=["season", "label"], name="sequence_label_once"),
            models.CheckConstraint(
                condition=Q(counts__gt=0, square__gt=0), name="sequence_has_length"
            ),
        ]

    def __str__(self) -> str:
        return self.label
