"""Fixed choices of notices."""

from django.db import models


class NoticeState(models.TextChoices):
    WAITING = "waiting", "waiting"
    SENT = "sent", "sent"
    SEEN = "seen", "seen"
    CONFIRMED = "confirmed", "confirmed"
    TOLD = "told in person", "told in person"
    NOT_REACHED = "not reached", "not reached"


SETTLED = (NoticeState.CONFIRMED, NoticeState.TOLD)
"""the member said that they know, or somebody told them"""
