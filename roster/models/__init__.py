"""The roster's tables."""

from roster.models.instruments import Instrument, Part
from roster.models.people import Member, Person, Qualification
from roster.models.ranks import AlternatePlace, Holding, Rank, Spot
from roster.models.seasons import RoleGrant, Season

__all__ = [
    "AlternatePlace",
    "Holding",
    "Instrument",
    "Member",
    "Part",
    "Person",
    "Qualification",
    "Rank",
    "RoleGrant",
    "Season",
    "Spot",
]
