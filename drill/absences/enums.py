"""Fixed choices of absences."""

from django.db import models


class AbsenceKind(models.TextChoices):
    OUT = "out", "out"
    LIMITED = "limited", "limited: does not march"
    LATE = "late", "late until"
    LEAVES = "leaves", "leaves at"
    DOUBTFUL = "doubtful", "doubtful"
    IN = "in", "in after all"


WITHOUT_TIME = (AbsenceKind.OUT, AbsenceKind.LIMITED, AbsenceKind.DOUBTFUL)
"""kinds of being out that are said in one tap: they need neither a time nor a date"""


class AbsenceState(models.TextChoices):
    REPORTED = "reported", "reported"
    CONFIRMED = "confirmed", "confirmed"
    DECLINED = "declined", "declined"
    WITHDRAWN = "withdrawn", "withdrawn"


COUNTING = (AbsenceState.REPORTED, AbsenceState.CONFIRMED)
"""Entries that say something; declined and withdrawn ones do not."""


class ReasonCategory(models.TextChoices):
    """For staff only, and never a diagnosis."""

    UNSAID = "", "not said"
    HEALTH = "health", "health"
    CLASS = "class", "class or exam"
    FAMILY = "family", "family"
    TRAVEL = "travel", "travel"
    CONDUCT = "conduct", "band rules"
    OTHER = "other", "other"
