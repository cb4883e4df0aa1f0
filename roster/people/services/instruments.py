"""Instruments and parts."""

from __future__ import annotations

from typing import Any

from django.db.models import ProtectedError

from bandops.lib.accounts.models import User
from bandops.lib.audit.recording import recorded
from bandops.lib.errors import Refused
from roster.people.models import Instrument, Part, Season


def save_instrument(*, actor: User, instrument: Instrument) -> Instrument:
    """Add or change an instrument."""
    instrument.full_clean()
    with recorded(actor, "save instrument"):
        instrument.save()
    return instrument


def save_part(*, actor: User, part: Part) -> Part:
    """Add or change a part."""
    part.season = part.instrument.season
    part.full_clean()
    with recorded(actor, "save part"):
        part.save()
    return part


def remove_part(*, actor: User, part: Part) -> None:
    """Remove a part nobody uses."""
    try:
        with recorded(actor, "remove part"):
            part.delete()
    except ProtectedError as error:
        raise Refused(f"{part} is in use: change its spots and members first.") from error


def remove_instrument(*, actor: User, instrument: Instrument) -> None:
    """Remove an instrument that has no part any more."""
    try:
        with recorded(actor, "remove instrument"):
            instrument.delete()
    except ProtectedError as error:
        raise Refused(f"{instrument} still has parts: remove them first.") from error


def add_starter_parts(*, actor: User, season: Season, rows: list[dict[str, Any]]) -> int:
    """Instruments and parts of a list (keys instrument, part, code); those there are kept."""
    added = 0
    with recorded(actor, "add parts"):
        for number, row in enumerate(rows):
            instrument, _ = Instrument.objects.get_or_create(
                season=season, name=row["instrument"], defaults={"order": number}
            )
            _, new = Part.objects.get_or_create(
                season=season,
                code=row["code"],
                defaults={"instrument": instrument, "name": row["part"], "order": number},
            )
            added += new
    return added
