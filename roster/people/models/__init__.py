"""The tables of this room."""

from roster.people.models.instruments import MOST_STOCK, Instrument, Part
from roster.people.models.people import (
    MOST_YEARS,
    DifferentPeople,
    Member,
    Person,
    Qualification,
)
from roster.people.models.seasons import Deputy, RoleGrant, Season
from roster.people.models.words import KeptWord

__all__ = [
    "MOST_STOCK",
    "MOST_YEARS",
    "Deputy",
    "DifferentPeople",
    "Instrument",
    "KeptWord",
    "Member",
    "Part",
    "Person",
    "Qualification",
    "RoleGrant",
    "Season",
]
