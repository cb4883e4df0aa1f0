"""Fixed choices of events and travel lists."""

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


class TravelState(models.TextChoices):
    DRAFT = "draft", "draft"
    POSTED = "posted", "posted"


class TravelRole(models.TextChoices):
    MARCHES = "marches", "marches"
    BACKUP = "backup", "backup"
    MUST = "must", "must travel"
