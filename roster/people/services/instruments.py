"""Instruments and parts."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from django.db.models import ProtectedError
from django.utils.text import slugify

from bandops.lib.accounts.models import User
from bandops.lib.audit.recording import recorded
from bandops.lib.errors import Refused
from bandops.lib.names import clean_name, plain
from roster.people.models import Instrument, Part, Season
from roster.people.services.words import set_names

LONGEST_NAME = 60
LONGEST_CODE = 30
"""letters of a code that is made, so that a number fits behind it"""


def save_instrument(*, actor: User, instrument: Instrument) -> Instrument:
    """Add or change an instrument."""
    instrument.full_clean()
    with recorded(actor, "save instrument"):
        instrument.save()
    return instrument


def save_part(
    *, actor: User, part: Part, also_called: Iterable[str] | None = None, code_before: str = ""
) -> Part:
    """Add or change a part, and what else files call it; ``code_before`` is the code it had.

    Refused for a name that another part has.
    """
    part.season = part.instrument.season
    part.full_clean()
    with recorded(actor, "save part"):
        part.save()
        if also_called is not None:
            set_names(actor=actor, part=part, names=also_called, code=code_before)
    return part


def remove_part(*, actor: User, part: Part) -> None:
    """Remove a part nobody uses, and its instrument with the last one."""
    instrument = part.instrument
    try:
        with recorded(actor, "remove part"):
            set_names(actor=actor, part=part, names=())
            part.delete()
            if not instrument.parts.exists():
                remove_instrument(actor=actor, instrument=instrument)
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


def add_part_named(*, actor: User, season: Season, name: str) -> Part:
    """A part of a name, of the instrument of that name; both are made where they are not there.

    An instrument without numbered parts has one part that is called as it is.
    """
    name = clean_name(name)[:LONGEST_NAME]
    name = name[:1].upper() + name[1:]
    with recorded(actor, "add part"):
        instruments = {plain(i.name): i for i in Instrument.objects.filter(season=season)}
        instrument = instruments.get(plain(name))
        if instrument is None:
            instrument = Instrument(season=season, name=name, order=len(instruments))
            save_instrument(actor=actor, instrument=instrument)
        code = free_code(season, name)
        part = Part(season=season, instrument=instrument, name=name, code=code)
        return save_part(actor=actor, part=part)


def free_code(season: Season, name: str) -> str:
    """A code for a part of a name that no other part of the season has."""
    taken = set(Part.objects.filter(season=season).values_list("code", flat=True))
    base = slugify(name)[:LONGEST_CODE] or "part"
    codes = (base, *(f"{base}-{n}" for n in range(2, len(taken) + 3)))
    return next(code for code in codes if code not in taken)
