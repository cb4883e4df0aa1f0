"""Fixed choices of the game day."""

from django.db import models


class ClashState(models.TextChoices):
    OPEN = "open", "to decide"
    KEPT = "kept", "kept as it stood"
    CHANGED = "changed", "changed"


class RequestState(models.TextChoices):
    WAITING = "waiting", "waiting for the director"
    APPROVED = "approved", "approved"
    DECLINED = "declined", "declined"
    WITHDRAWN = "withdrawn", "withdrawn"
