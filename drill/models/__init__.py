"""The drill's tables."""

from drill.models.absences import Absence
from drill.models.calendars import CalendarFeed
from drill.models.contests import (
    Contest,
    ContestCriterion,
    ContestMark,
    ContestRound,
    ProtectedSpot,
)
from drill.models.events import Event, Segment
from drill.models.gameday import Clash, DayChange
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
from drill.models.plans import CoverPlan, Lesson
from drill.models.rehearsals import Attendance, PracticeEntry, RehearsalBlock
from drill.models.shows import DrillSet, Place, PlaceMap, Position, Show, ShowVersion
from drill.models.travel import Traveller, TravelList
from drill.models.turns import Turn, TurnBook

__all__ = [
    "Absence",
    "Attendance",
    "Bar",
    "CalendarFeed",
    "Clash",
    "Contest",
    "ContestCriterion",
    "ContestMark",
    "ContestRound",
    "Cover",
    "CoverPlan",
    "DayChange",
    "DrillSet",
    "Event",
    "Lesson",
    "Lineup",
    "LineupRow",
    "Notice",
    "OpenSeat",
    "Pin",
    "Place",
    "PlaceMap",
    "Position",
    "Practice",
    "PracticeEntry",
    "ProtectedSpot",
    "RehearsalBlock",
    "Segment",
    "Show",
    "ShowVersion",
    "TravelList",
    "Traveller",
    "Turn",
    "TurnBook",
]
