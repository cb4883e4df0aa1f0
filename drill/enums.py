"""Fixed choices of the drill."""

from django.db import models


class EventKind(models.TextChoices):
    GAME = "game", "game"
    PARADE = "parade", "parade"
    TRIP = "trip", "trip"
    REHEARSAL = "rehearsal", "rehearsal"


class SegmentKind(models.TextChoices):
    PREGAME = "pregame", "pregame"
    HALFTIME = "halftime", "halftime"
    PARADE = "parade", "parade"
    STANDS = "stands", "stands"
    DUTY = "duty", "duty"


MARCHING = (SegmentKind.PREGAME, SegmentKind.HALFTIME, SegmentKind.PARADE)
"""Segments with spots to fill; in the others people only take part."""


class FieldType(models.TextChoices):
    """Fields by what they are: how far the hashes stand from the nearer sideline."""

    HASH_60 = "60 ft", "hashes at 60 ft"
    HASH_53 = "53 ft 4 in", "hashes at 53 ft 4 in"
    HASH_70 = "70 ft 9 in", "hashes at 70 ft 9 in"


class SeenFrom(models.TextChoices):
    """Whose left and right the words for a place use."""

    PRESS_BOX = "press box", "from the press box"
    FIELD = "field", "from the field, facing the press box"


class Precision(models.TextChoices):
    QUARTER = "quarter", "to a quarter step"
    SIXTEENTH = "sixteenth", "to a sixteenth of a step"


class DepthDisplay(models.TextChoices):
    EXACT = "exact", "exact: 85 1/3 steps, hashes where they stand"
    ROUNDED = "rounded", "rounded: 84 steps, hashes on whole steps"


class Direction(models.TextChoices):
    """How a marcher's body goes against the way it faces."""

    ANY = "", "any direction"
    FORWARD = "forward", "forward"
    BACKWARD = "backward", "backward"
    SIDEWAYS = "sideways", "sideways"


class AbsenceKind(models.TextChoices):
    OUT = "out", "out"
    LIMITED = "limited", "limited: does not march"
    LATE = "late", "late until"
    LEAVES = "leaves", "leaves at"
    DOUBTFUL = "doubtful", "doubtful"
    IN = "in", "in after all"


class AbsenceState(models.TextChoices):
    REPORTED = "reported", "reported"
    CONFIRMED = "confirmed", "confirmed"
    DECLINED = "declined", "declined"
    WITHDRAWN = "withdrawn", "withdrawn"


COUNTING = (AbsenceState.REPORTED, AbsenceState.CONFIRMED)
"""Entries that say something; declined and withdrawn ones do not."""


class ReasonCategory(models.TextChoices):
    """For staff only, and never a diagnosis."""

    UNSAID = "", "not said"
    HEALTH = "health", "health"
    CLASS = "class", "class or exam"
    FAMILY = "family", "family"
    TRAVEL = "travel", "travel"
    CONDUCT = "conduct", "band rules"
    OTHER = "other", "other"


class ChancesFrom(models.TextChoices):
    """Where the chances of being out come from that a cover plan reckons with."""

    SEASON = "season", "from this season"
    SAME = "same", "the same for everybody"


class LineupState(models.TextChoices):
    DRAFT = "draft", "draft"
    PUBLISHED = "published", "published"


class NoticeState(models.TextChoices):
    WAITING = "waiting", "waiting"
    SENT = "sent", "sent"
    SEEN = "seen", "seen"
    CONFIRMED = "confirmed", "confirmed"
    TOLD = "told in person", "told in person"
    NOT_REACHED = "not reached", "not reached"


class AttendanceState(models.TextChoices):
    PRESENT = "present", "here"
    LATE = "late", "late"
    LEFT = "left", "left early"
    ABSENT = "absent", "not here"


class ClashState(models.TextChoices):
    OPEN = "open", "to decide"
    KEPT = "kept", "kept as it stood"
    CHANGED = "changed", "changed"


class TurnOutcome(models.TextChoices):
    MARCHED = "marched", "marched"
    STOOD_BY = "stood by", "stood by, dressed"
    OFFERED = "offered", "was offered, did not march"
    MISSED = "missed", "was placed, did not march"
    AWAY = "away", "was not there"


class ContestState(models.TextChoices):
    ASKED = "asked", "asked"
    CALLED_OFF = "called off", "called off"
    KEPT = "kept", "the holder keeps the spot"
    WON = "won", "the challenger wins"


class Side(models.TextChoices):
    """The two people of a contest as evaluators know them."""

    A = "A", "A"
    B = "B", "B"


class TravelState(models.TextChoices):
    DRAFT = "draft", "draft"
    POSTED = "posted", "posted"


class TravelRole(models.TextChoices):
    MARCHES = "marches", "marches"
    COVER = "cover", "cover"
    MUST = "must", "must travel"
