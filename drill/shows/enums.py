"""Fixed choices of moves."""

from django.db import models


class Direction(models.TextChoices):
    """How a marcher's body goes against the way it faces."""

    ANY = "", "any direction"
    FORWARD = "forward", "forward"
    BACKWARD = "backward", "backward"
    SIDEWAYS = "sideways", "sideways"
