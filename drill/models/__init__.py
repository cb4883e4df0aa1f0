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
from drill.models.drill_settings import CustomField, DrillSettings, StepLimit
from drill.models.events import Event, Segment
from drill.models.fundamentals import EvaluationSequence, Fundamental, PassedFundamental
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
from drill.models.shows import DrillSet, Path, Place, PlaceMap, Position, Show, ShowVersion
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
    "CustomField",
    "DayChange",
    "DrillSet",
    "DrillSettings",
    "EvaluationSequence",
    "Event",
    "Fundamental",
    "Lesson",
    "Lineup",
    "LineupRow",
    "Notice",
    "OpenSeat",
    "PassedFundamental",
    "Path",
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
    "StepLimit",
    "TravelList",
    "Traveller",
    "Turn",
    "TurnBook",
]
