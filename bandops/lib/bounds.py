"""Bounds of whole numbers: for forms by validators, for every other way in by constraints."""

from __future__ import annotations

from django.core.validators import MaxValueValidator, MinValueValidator
from django.db.models import Q

MOST_ORDER = 10_000
"""of things that people number"""


def between(least: int, most: int) -> list[MinValueValidator | MaxValueValidator]:
    """Validators of a field from ``least`` to ``most``."""
    return [MinValueValidator(least), MaxValueValidator(most)]


def within(field: str, least: int, most: int) -> Q:
    """The condition that a field lies from ``least`` to ``most``, or is empty."""
    inside = Q(**{f"{field}__gte": least, f"{field}__lte": most})
    return Q(**{f"{field}__isnull": True}) | inside
