"""A tryout: its rules, sessions, criteria and quotas."""

from __future__ import annotations

import datetime
from decimal import Decimal
from zoneinfo import ZoneInfo

from django.conf import settings
from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.db.models import F, Q
from django.utils import timezone

from bandops.lib.bounds import MOST_ORDER, between, within
from roster.people.models import Part, Season
from roster.tryouts.enums import CriterionKind, Deciding, TryoutState

MOST_MARK, MOST_WEIGHT, MOST_LOOKS, MOST_SPOTS = 1_000, 1_000, 20, 500


class Tryout(models.Model):
    """One tryout of a season with its rules, which are frozen before the first mark.

    ``tie_order`` lists criteria (ids): of two equal figures the higher in the first of them goes
    first, then in the next.
    """

    season = models.ForeignKey(Season, on_delete=models.CASCADE, related_name="tryouts")
    name = models.CharField(max_length=60)
    state = models.CharField(
        max_length=10, choices=TryoutState.choices, default=TryoutState.DRAFT, editable=False
    )
    deciding = models.CharField(
        "the figure that decides",
        max_length=10,
        choices=Deciding.choices,
        default=Deciding.ADJUSTED,
    )
    drop_extremes = models.BooleanField(
        "leave out each candidate's highest and lowest look", default=False
    )
    sessions_differ = models.BooleanField(
        "adjust for sessions that were easier or harder", default=False
    )
    looks_wanted = models.PositiveSmallIntegerField(
        "looks for each candidate", default=3, validators=between(1, MOST_LOOKS)
    )
    minimum_looks = models.PositiveSmallIntegerField(
        "fewest looks for an offer", default=2, validators=between(1, MOST_LOOKS)
    )
    standard = models.DecimalField(
        "lowest figure for an offer, in percent",
        max_digits=5,
        decimal_places=2,
        null=True,
        blank=True,
        validators=[MinValueValidator(Decimal(0)), MaxValueValidator(Decimal(100))],
    )
    sure = models.DecimalField(
        "chance from which a candidate is clear in or clear out",
        max_digits=4,
        decimal_places=3,
        default=Decimal("0.95"),
        validators=[MinValueValidator(Decimal("0.6")), MaxValueValidator(Decimal("0.999"))],
    )
    tie_order = models.JSONField(default=list, blank=True, editable=False)
    notes_at = models.DateTimeField("private notes from", null=True, blank=True, editable=False)
    posts_at = models.DateTimeField("public list from", null=True, blank=True, editable=False)
    frozen_at = models.DateTimeField(null=True, editable=False)
    frozen_by = models.ForeignKey(
        settings.AUTH_USER_MODEL,
        null=True,
        editable=False,
        on_delete=models.SET_NULL,
        related_name="+",
    )

    audit_said = {
        "save tryout": "saved the tryout {name}",
        "start judging": "froze the rules of {name}",
        "reopen set-up": "opened the rules of {name} again",
        "copy tryout": "set {name} up like an earlier one",
        "sign decision": "decided {name}",
        "reopen decision": "opened {name} for marks again",
        "set posting": "set when the results of {name} are told and posted",
        "order ties": "chose what breaks ties in {name}",
    }

    class Meta:
        ordering = ["-season__starts", "-id"]
        constraints = [
            models.UniqueConstraint(fields=["season", "name"], name="tryout_once"),
            models.CheckConstraint(
                condition=Q(state__in=TryoutState.values) & Q(deciding__in=Deciding.values),
                name="tryout_known",
            ),
            models.CheckConstraint(
                condition=within("looks_wanted", 1, MOST_LOOKS)
                & within("minimum_looks", 1, MOST_LOOKS)
                & Q(minimum_looks__lte=F("looks_wanted")),
                name="tryout_looks_in_bounds",
                violation_error_message="The fewest looks cannot be more than the looks wanted.",
            ),
            models.CheckConstraint(
                condition=Q(drop_extremes=False) | Q(deciding=Deciding.RAW),
                name="extremes_of_raw_figures",
                violation_error_message="Highest and lowest looks are left out of raw figures "
                "only: the adjusted figure already allows for severe evaluators.",
            ),
            models.CheckConstraint(
                condition=Q(state=TryoutState.DRAFT) | Q(frozen_at__isnull=False),
                name="judging_needs_frozen_rules",
            ),
            models.CheckConstraint(
                condition=Q(posts_at__isnull=True)
                | Q(notes_at__isnull=False) & Q(notes_at__lte=F("posts_at")),
                name="private_notes_first",
                violation_error_message="Private notes come first, the public list after.",
            ),
            models.CheckConstraint(
                condition=Q(sure__gte=Decimal("0.6")) & Q(sure__lte=Decimal("0.999")),
                name="tryout_sure_in_bounds",
            ),
        ]

    def __str__(self) -> str:
        return self.name

    @property
    def zone(self) -> ZoneInfo:
        return self.season.zone

    @property
    def is_frozen(self) -> bool:
        return self.state != TryoutState.DRAFT

    @property
    def state_words(self) -> str:
        """How far it is; posted from the announced hour on."""
        posted = self.posts_at is not None and self.posts_at <= timezone.now()
        return "posted" if posted else self.get_state_display()

    @property
    def is_open(self) -> bool:
        """Marks may come in."""
        return self.state == TryoutState.JUDGING


class TryoutSession(models.Model):
    """A block of judging in one place. A calibration round is marked by everybody and counts for
    nobody: it shows how far evaluators agree."""

    tryout = models.ForeignKey(Tryout, on_delete=models.CASCADE, related_name="sessions")
    name = models.CharField(max_length=60)
    starts_at = models.DateTimeField("starts")
    place = models.CharField(max_length=100, blank=True)
    is_calibration = models.BooleanField(
        "calibration round: everybody marks the same, and it counts for nobody", default=False
    )

    audit_called = "session of a tryout"
    audit_said = {
        "save session": "saved the session {name}",
        "remove session": "removed the session {name}",
        "copy tryout": "added the session {name}",
    }

    class Meta:
        ordering = ["starts_at", "id"]
        constraints = [
            models.UniqueConstraint(fields=["tryout", "name"], name="tryout_session_once"),
        ]

    def __str__(self) -> str:
        return self.name

    @property
    def day(self) -> datetime.date:
        """Its day in the season's zone."""
        return self.starts_at.astimezone(self.tryout.zone).date()


class TryoutCriterion(models.Model):
    """What is marked: a scale from ``bottom`` to ``top``, and what its marks mean in words."""

    tryout = models.ForeignKey(Tryout, on_delete=models.CASCADE, related_name="criteria")
    name = models.CharField(max_length=60)
    kind = models.CharField(
        max_length=12, choices=CriterionKind.choices, default=CriterionKind.FUNDAMENTAL
    )
    fundamental = models.SlugField(
        "code of the fundamental",
        max_length=60,
        blank=True,
        help_text="Whoever reaches the passing mark has passed it in the lineup, too.",
    )
    bottom = models.PositiveSmallIntegerField(
        "lowest mark", default=1, validators=between(0, MOST_MARK)
    )
    top = models.PositiveSmallIntegerField(
        "highest mark", default=10, validators=between(1, MOST_MARK)
    )
    passing = models.PositiveSmallIntegerField(
        "passing mark", null=True, blank=True, validators=between(0, MOST_MARK)
    )
    weight = models.PositiveSmallIntegerField(default=1, validators=between(1, MOST_WEIGHT))
    anchors = models.TextField(
        "what the marks mean",
        blank=True,
        max_length=1_000,
        help_text="A line for each: 10 = every step on the beat, no drift.",
    )
    order = models.PositiveSmallIntegerField(default=0, validators=between(0, MOST_ORDER))

    audit_called = "criterion of a tryout"
    audit_said = {
        "save tryout criterion": "saved the criterion “{name}”",
        "remove tryout criterion": "removed the criterion “{name}”",
        "add tryout criteria": "added the criterion “{name}”",
        "copy tryout": "added the criterion “{name}”",
    }

    class Meta:
        ordering = ["order", "id"]
        verbose_name_plural = "tryout criteria"
        constraints = [
            models.UniqueConstraint(fields=["tryout", "name"], name="tryout_criterion_once"),
            models.CheckConstraint(
                condition=within("bottom", 0, MOST_MARK)
                & within("top", 1, MOST_MARK)
                & Q(bottom__lt=F("top")),
                name="tryout_scale_in_bounds",
                violation_error_message="The highest mark must be above the lowest.",
            ),
            models.CheckConstraint(
                condition=Q(passing__isnull=True)
                | Q(passing__gte=F("bottom")) & Q(passing__lte=F("top")),
                name="passing_mark_on_scale",
                violation_error_message="The passing mark must lie on the scale.",
            ),
            models.CheckConstraint(
                condition=Q(kind__in=CriterionKind.values)
                & within("weight", 1, MOST_WEIGHT)
                & within("order", 0, MOST_ORDER),
                name="tryout_criterion_in_bounds",
            ),
        ]

    def __str__(self) -> str:
        return self.name

    @property
    def steps(self) -> range:
        """The marks that buttons offer: all of a short scale."""
        return range(self.bottom, self.top + 1)


class TryoutQuota(models.Model):
    """How many of a part are wanted."""

    tryout = models.ForeignKey(Tryout, on_delete=models.CASCADE, related_name="quotas")
    part = models.ForeignKey(Part, on_delete=models.PROTECT, related_name="tryout_quotas")
    minimum = models.PositiveSmallIntegerField(default=0, validators=between(0, MOST_SPOTS))
    target = models.PositiveSmallIntegerField(
        "spots to fill", default=0, validators=between(0, MOST_SPOTS)
    )
    maximum = models.PositiveSmallIntegerField(default=0, validators=between(0, MOST_SPOTS))
    alternates = models.PositiveSmallIntegerField(default=0, validators=between(0, MOST_SPOTS))

    audit_called = "quota"
    audit_said = {
        "save quotas": "changed how many of {part} are wanted",
        "copy tryout": "set how many of {part} are wanted",
    }
    audit_reads = ("part",)

    class Meta:
        ordering = ["part__instrument__order", "part__order", "part__name"]
        constraints = [
            models.UniqueConstraint(fields=["tryout", "part"], name="tryout_quota_once"),
            models.CheckConstraint(
                condition=within("maximum", 0, MOST_SPOTS)
                & within("alternates", 0, MOST_SPOTS)
                & Q(minimum__lte=F("target"))
                & Q(target__lte=F("maximum")),
                name="tryout_quota_in_order",
                violation_error_message="Minimum, spots to fill and maximum must rise.",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.part}: {self.target}"
