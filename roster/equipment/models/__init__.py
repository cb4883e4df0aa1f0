"""The tables of uniforms and equipment."""

from roster.equipment.models.issues import Charge, Issue
from roster.equipment.models.items import MOST_FIGURE, Item, ItemFigure, Move
from roster.equipment.models.kinds import MOST_SPARES, Band, Figure, Kind
from roster.equipment.models.people import InLine, Measurement, Wearer
from roster.equipment.models.work import Inspection, Run, Ticket

__all__ = [
    "MOST_FIGURE",
    "MOST_SPARES",
    "Band",
    "Charge",
    "Figure",
    "InLine",
    "Inspection",
    "Issue",
    "Item",
    "ItemFigure",
    "Kind",
    "Measurement",
    "Move",
    "Run",
    "Ticket",
    "Wearer",
]
