"""Fixed choices of challenges."""

from django.db import models


class ChallengeState(models.TextChoices):
    ASKED = "asked", "asked"
    CALLED_OFF = "called off", "called off"
    KEPT = "kept", "the holder keeps the spot"
    WON = "won", "the challenger wins"


class Side(models.TextChoices):
    """The two people of a challenge as evaluators know them."""

    A = "A", "A"
    B = "B", "B"
