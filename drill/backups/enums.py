"""Fixed choices of plans."""

from django.db import models


class ChancesFrom(models.TextChoices):
    """Where the chances of being out come from that a backup plan reckons with."""

    SEASON = "season", "from this season"
    SAME = "same", "the same for everybody"
