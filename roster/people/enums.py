"""Fixed choices of the roster."""

from enum import Enum

from django.db import models


class Role(models.TextChoices):
    """Roles given to an account for a season; rank leaders and members follow from the roster."""

    DIRECTOR = "director", "Director"
    STAFF = "staff", "Staff"
    EQUIPMENT_MANAGER = "equipment manager", "Equipment manager"
    EVALUATOR = "evaluator", "Evaluator"


class AlternatePool(models.TextChoices):
    """Among whom the alternates of one part have their standing; a section is an instrument."""

    RANK = "rank", "their rank"
    SECTION = "section", "their section"
    BAND = "band", "the whole band"


class MemberStatus(models.TextChoices):
    ACTIVE = "active", "active"
    ON_LEAVE = "on leave", "on leave"
    LEFT = "left", "left"


class Standing(models.TextChoices):
    """Cleared to march, or eligible: never why."""

    YES = "yes", "yes"
    NO = "no", "no"
    UNTIL = "until", "through a date"


class Paper(models.TextChoices):
    LETTER = "letter", "US Letter"
    A4 = "a4", "A4"


class Merging(Enum):
    """What becomes of a table's rows when their member turns out to be another one; a model says
    so as ``merging``, the first where it says nothing."""

    MOVE = "they become the other member's, and go where the other has the same already"
    KEEP = "they become the other member's, and stay where the other has the same already"
    STAY = "they stay: they say what was published"
