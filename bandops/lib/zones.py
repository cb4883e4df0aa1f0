"""Time zones: their names, read as people type them, and a list to choose from."""

from __future__ import annotations

import datetime
from dataclasses import dataclass
from functools import cache
from typing import Any
from zoneinfo import ZoneInfo, available_timezones

from django import forms
from django.core.exceptions import ValidationError

from bandops.lib.dates import zone_words

REGIONS = ("America", "Pacific", "Europe", "Africa", "Asia", "Australia", "Atlantic", "Indian")
SPOKEN = {
    "America/New_York": "Eastern",
    "America/Chicago": "Central",
    "America/Denver": "Mountain",
    "America/Phoenix": "Arizona",
    "America/Los_Angeles": "Pacific",
    "America/Anchorage": "Alaska",
    "Pacific/Honolulu": "Hawaii",
    "America/Halifax": "Atlantic",
    "America/St_Johns": "Newfoundland",
    "America/Puerto_Rico": "Puerto Rico",
}
"""zones that people call by a word, which come first in the list"""
MOST_SUGGESTED = 3
HELP = "Type a city, or letters such as PST, and choose from the list."


@dataclass(frozen=True)
class Zone:
    """A zone to choose: its name, and how people know it."""

    name: str
    words: str


@cache
def names() -> frozenset[str]:
    """All names of the IANA time zone database; read from the disk once."""
    return frozenset(available_timezones())


@cache
def _by_small_letters() -> dict[str, str]:
    return {name.lower(): name for name in names()}


@cache
def choices() -> tuple[Zone, ...]:
    """Zones with a city, the ones that have a word first."""
    others = sorted(name for name in names() if name.startswith(tuple(f"{r}/" for r in REGIONS)))
    first = [name for name in SPOKEN if name in names()]
    return tuple(
        Zone(name, _words(name)) for name in [*first, *(n for n in others if n not in SPOKEN)]
    )


def _words(name: str) -> str:
    """'Pacific, Los Angeles, PST/PDT'."""
    city = name.rsplit("/", 1)[-1].replace("_", " ")
    zone = ZoneInfo(name)
    letters = [zone_words(datetime.datetime(2026, month, 1, tzinfo=zone)) for month in (1, 7)]
    return ", ".join(w for w in (SPOKEN.get(name, ""), city, "/".join(dict.fromkeys(letters))) if w)


def read_zone(text: str) -> str:
    """The IANA name that a text gives, in any case and with spaces for low lines;
    ValidationError that names the likely ones for whatever else."""
    wanted = text.strip().lower().replace(" ", "_")
    found = _by_small_letters().get(wanted)
    if found is None:
        raise ValidationError(unknown(text))
    return found


def unknown(text: str) -> str:
    """What a person is told who typed something else."""
    words = text.strip().casefold().removesuffix(" time").replace("_", " ")
    near = [z.name for z in choices() if words and words in f"{z.name} {z.words}".casefold()]
    if not near:
        return f"“{text}” is not a time zone such as America/Chicago."
    return f"“{text}” is not a time zone. Did you mean {' or '.join(near[:MOST_SUGGESTED])}?"


class ZoneInput(forms.TextInput):
    """A field whose list narrows as one types a city, a word or letters such as PST."""

    template_name = "parts/zone_input.html"

    def get_context(self, name: str, value: Any, attrs: dict[str, Any] | None) -> dict[str, Any]:
        context = super().get_context(name, value, attrs)
        shown = context["widget"]["attrs"]
        shown |= {"list": f"{shown.get('id', name)}_list", "autocomplete": "off"}
        return {**context, "zones": choices()}


class ZoneField(forms.CharField):
    """A time zone, by its IANA name."""

    widget = ZoneInput

    def to_python(self, value: object) -> str:
        text = str(super().to_python(value) or "")
        return read_zone(text) if text else ""
