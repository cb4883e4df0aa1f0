"""The drill's tables."""

from drill.models.absences import Absence
from drill.models.events import Event, Segment
from drill.models.lineups import (
    Bar,
    Cover,
    Lineup,
    LineupRow,
    Notice,
    OpenSeat,
    Pin,
    Practice,
)
from drill.models.shows import DrillSet, Place, PlaceMap, Position, Show, ShowVersion

__all__ = [
    "Absence",
    "Bar",
    "Cover",
    "DrillSet",
    "Event",
    "Lineup",
    "LineupRow",
    "Notice",
    "OpenSeat",
    "Pin",
    "Place",
    "PlaceMap",
    "Position",
    "Practice",
    "Segment",
    "Show",
    "ShowVersion",
]
