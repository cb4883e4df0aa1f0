"""Checks of single values shared by models and forms."""

from __future__ import annotations

from zoneinfo import available_timezones

from django.core.exceptions import ValidationError


def validate_time_zone(name: str) -> None:
    """Only names of the IANA time zone database."""
    if name not in available_timezones():
        raise ValidationError(f"“{name}” is not a time zone such as America/Chicago.")
