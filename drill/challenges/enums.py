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


class Challengers(models.TextChoices):
    """Who may challenge."""

    ALTERNATES = "alternates", "alternates only"
    ALL = "all", "alternates and holders"


class Reach(models.TextChoices):
    """Whose spots somebody may challenge, among those of a part they play."""

    RANK = "rank", "in their own rank"
    SECTION = "section", "in their own section"
    PART = "part", "in the whole band"
