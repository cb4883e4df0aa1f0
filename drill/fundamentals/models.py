"""Fundamentals of the band's own, who has passed which, and sequences to judge them by."""

from __future__ import annotations

from django.conf import settings
from django.db import models

from bandops.lib.bounds import between, within
from roster.people.models import Member, Season

MOST_COUNTS, SQUARES, LARGEST_SEED = 128, (4, 64), 2**31 - 1
"""of an evaluation sequence"""


class Fundamental(models.Model):
    """A basic movement of the band's own, or its way of one that everybody has (same ``code``).

    ``definition`` is what ``drill.fundamentals.core`` reads.
    """

    season = models.ForeignKey(Season, on_delete=models.CASCADE, related_name="fundamentals")
    code = models.SlugField(max_length=40)
    name = models.CharField(max_length=60)
    definition = models.JSONField()

    audit_said = {
        "save fundamental": "saved {name}",
        "add example fundamental": "added the example {name}",
        "remove fundamental": "removed {name}",
    }

    class Meta:
        ordering = ["name"]
        constraints = [
            models.UniqueConstraint(fields=["season", "code"], name="fundamental_once"),
            models.UniqueConstraint(fields=["season", "name"], name="fundamental_name_once"),
        ]

    def __str__(self) -> str:
        return self.name


class Abbreviation(models.Model):
    """A word of the band's own for moves, read before the words that everybody has.

    ``said`` is the word as it is compared: in small letters, hyphens as spaces.
    """

    season = models.ForeignKey(Season, on_delete=models.CASCADE, related_name="abbreviations")
    word = models.CharField(max_length=40)
    said = models.CharField(max_length=40, editable=False)
    says = models.CharField(max_length=120)

    audit_said = {
        "save abbreviation": "said that “{word}” says “{says}”",
        "remove abbreviation": "removed the abbreviation “{word}”",
    }

    class Meta:
        ordering = ["said"]
        constraints = [
            models.UniqueConstraint(
                fields=["season", "said"],
                name="abbreviation_once",
                violation_error_message="This abbreviation is there already: change that one.",
            ),
            models.CheckConstraint(
                condition=~models.Q(said="") & ~models.Q(says=""),
                name="abbreviation_says_something",
            ),
        ]

    def __str__(self) -> str:
        return self.word


class PassedFundamental(models.Model):
    """A member has shown a fundamental to staff."""

    member = models.ForeignKey(Member, on_delete=models.CASCADE, related_name="passed_fundamentals")
    code = models.SlugField(max_length=40)
    passed_on = models.DateField()
    noted_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, on_delete=models.SET_NULL, related_name="+"
    )

    audit_called = "fundamental passed"
    audit_said = {
        "note passed fundamental": "changed whether {member} passed {code}",
    }

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
    seed = models.PositiveIntegerField(validators=between(0, LARGEST_SEED))
    counts = models.PositiveSmallIntegerField(validators=between(1, MOST_COUNTS))
    square = models.PositiveSmallIntegerField(validators=between(*SQUARES))
    codes = models.JSONField()
    moves = models.JSONField()
    made_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, on_delete=models.SET_NULL, related_name="+"
    )
    made_at = models.DateTimeField(auto_now_add=True)

    audit_said = {
        "make evaluation sequence": "made the sequence {label}",
        "remove evaluation sequence": "removed the sequence {label}",
    }

    class Meta:
        ordering = ["label"]
        constraints = [
            models.UniqueConstraint(fields=["season", "label"], name="sequence_label_once"),
            models.CheckConstraint(
                condition=within("seed", 0, LARGEST_SEED)
                & within("counts", 1, MOST_COUNTS)
                & within("square", 1, SQUARES[1]),
                name="sequence_in_bounds",
            ),
        ]

    def __str__(self) -> str:
        return self.label
