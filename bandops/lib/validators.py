"""Checks of single values shared by models and forms."""

from __future__ import annotations

import datetime

from django.core.exceptions import ValidationError

from bandops.lib import zones
from bandops.lib.dates import OUT_OF_REACH, in_reach


def validate_time_zone(name: str) -> None:
    """Only names of the IANA time zone database."""
    if name not in zones.names():
        raise ValidationError(zones.unknown(name))


def validate_in_reach(day: datetime.date) -> None:
    """Only days and moments of the years that anything may have."""
    if not in_reach(day):
        raise ValidationError(OUT_OF_REACH)
