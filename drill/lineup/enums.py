"""Fixed choices of lineups."""

from django.db import models


class LineupState(models.TextChoices):
    DRAFT = "draft", "draft"
    PUBLISHED = "published", "published"
