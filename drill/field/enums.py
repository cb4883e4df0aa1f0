"""Fixed choices of fields and of how coordinates are written."""

from django.db import models


class FieldType(models.TextChoices):
    """Fields by what they are: how far the hashes stand from the nearer sideline."""

    HASH_60 = "60 ft", "College (60 ft)"
    HASH_53 = "53 ft 4 in", "High school (53 ft 4 in)"
    HASH_70 = "70 ft 9 in", "Pro (70 ft 9 in)"


class SeenFrom(models.TextChoices):
    """Whose left and right the words for a coordinate use."""

    PRESS_BOX = "press box", "from the press box"
    FIELD = "field", "from the field, facing the press box"


class Precision(models.TextChoices):
    QUARTER = "quarter", "to a quarter step"
    SIXTEENTH = "sixteenth", "to a sixteenth of a step"


class DepthDisplay(models.TextChoices):
    EXACT = "exact", "exact: 85 1/3 steps, hashes where they stand"
    ROUNDED = "rounded", "rounded: 84 steps, hashes on whole steps"
