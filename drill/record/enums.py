"""Fixed choices of what became of a member at a performance."""

from django.db import models


class RecordOutcome(models.TextChoices):
    MARCHED = "marched", "marched"
    STOOD_BY = "stood by", "stood by in uniform"
    OFFERED = "offered", "was offered, did not march"
    MISSED = "missed", "was placed, did not march"
    AWAY = "away", "was not there"
