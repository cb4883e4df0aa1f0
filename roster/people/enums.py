"""Fixed choices of the roster."""

from django.db import models


class Role(models.TextChoices):
    """Roles given to an account for a season; rank leaders and members follow from the roster."""

    DIRECTOR = "director", "Director"
    STAFF = "staff", "Staff"
    EQUIPMENT_MANAGER = "equipment manager", "Equipment manager"
    EVALUATOR = "evaluator", "Evaluator"


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
