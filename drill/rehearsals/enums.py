"""Fixed choices of attendance."""

from django.db import models


class AttendanceState(models.TextChoices):
    PRESENT = "present", "here"
    LATE = "late", "late"
    LEFT = "left", "left early"
    ABSENT = "absent", "not here"
