"""Fixed choices of tryouts."""

from django.db import models


class TryoutState(models.TextChoices):
    """How far a tryout is; the rules are frozen from ``JUDGING`` on."""

    DRAFT = "draft", "being set up"
    JUDGING = "judging", "judging"
    DECIDED = "decided", "decided"


class Deciding(models.TextChoices):
    """Which figure decides."""

    ADJUSTED = "adjusted", "adjusted: freed of how severe each evaluator is"
    RAW = "raw", "raw: the plain mean of the looks"


class CriterionKind(models.TextChoices):
    FUNDAMENTAL = "fundamental", "fundamental"
    MUSIC = "music", "music"
    MEMORY = "memory", "memory"
    OTHER = "other", "other"


class Source(models.TextChoices):
    """How a mark came in."""

    SCREEN = "screen", "marked on a screen"
    PAPER = "paper", "typed from paper"
    FILE = "file", "from a file"


class OfferKind(models.TextChoices):
    SPOT = "spot", "a spot"
    ALTERNATE = "alternate", "an alternate's place"
    NONE = "none", "no offer"


class OfferState(models.TextChoices):
    """What became of an offer; one that nobody answered in time has expired by the clock."""

    OPEN = "open", "not answered"
    ACCEPTED = "accepted", "accepted"
    DECLINED = "declined", "declined"
    WITHDRAWN = "withdrawn", "withdrew"
