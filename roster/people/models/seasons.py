"""Seasons and the choices a band makes for one."""

from __future__ import annotations

import datetime
from decimal import Decimal
from zoneinfo import ZoneInfo

from django.conf import settings
from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.db.models import Q
from django.utils import timezone

from bandops.lib.dates import weekday_words
from bandops.lib.validators import validate_time_zone
from roster.people.enums import AlternatePool, Paper, Role


class Season(models.Model):
    """One year of the band; members, ranks and events belong to one."""

    name = models.CharField(max_length=100, unique=True)
    band_name = models.CharField(max_length=200)
    starts = models.DateField()
    ends = models.DateField()
    is_current = models.BooleanField(default=False)
    time_zone = models.CharField(
        max_length=64, default="America/Chicago", validators=[validate_time_zone]
    )
    paper = models.CharField(max_length=10, choices=Paper.choices, default=Paper.LETTER)
    doubtful_out_from = models.DecimalField(
        "leave out the doubtful at this chance of being out or more",
        max_digits=3,
        decimal_places=2,
        default=Decimal("0.5"),
        validators=[MinValueValidator(Decimal("0.01")), MaxValueValidator(Decimal(1))],
    )
    use_weights = models.BooleanField(
        "fill heavier spots first, even if more people move", default=False
    )
    fairness_before_standing = models.BooleanField(
        "among a spot's own alternates, whoever marched less goes first", default=False
    )
    alternates_by = models.CharField(
        "rank alternates within",
        max_length=10,
        choices=AlternatePool.choices,
        default=AlternatePool.RANK,
    )
    usual_out = models.DecimalField(
        "chance that a member with nothing reported is out",
        max_digits=3,
        decimal_places=2,
        null=True,
        blank=True,
        validators=[MinValueValidator(Decimal("0.01")), MaxValueValidator(Decimal("0.5"))],
    )
    quiet_from = models.TimeField("no emails from", null=True, blank=True)
    quiet_until = models.TimeField("no emails until", null=True, blank=True)

    audit_said = {
        "start season": "started {name}",
        "make season current": "changed which season the pages show",
        "change season": "changed the season's settings",
        "change the alternates' pools": "put the alternates in other pools",
    }
    audit_directors = True

    class Meta:
        ordering = ["-starts"]
        constraints = [
            models.CheckConstraint(
                condition=Q(alternates_by__in=AlternatePool.values), name="season_pool_known"
            ),
            models.UniqueConstraint(
                fields=["is_current"], condition=Q(is_current=True), name="one_current_season"
            ),
            models.CheckConstraint(
                condition=Q(ends__gte=models.F("starts")),
                name="season_ends_after_start",
                violation_error_message="The season must end after it starts.",
            ),
            models.CheckConstraint(
                condition=Q(usual_out__isnull=True)
                | Q(usual_out__gte=Decimal("0.01"), usual_out__lte=Decimal("0.5")),
                name="usual_out_up_to_half",
            ),
            models.CheckConstraint(
                condition=Q(quiet_from__isnull=True, quiet_until__isnull=True)
                | Q(quiet_from__isnull=False, quiet_until__isnull=False),
                name="quiet_hours_have_both_ends",
                violation_error_message="Quiet hours need both times, or none.",
            ),
        ]

    def __str__(self) -> str:
        return self.name

    @property
    def zone(self) -> ZoneInfo:
        return ZoneInfo(self.time_zone)

    def today(self) -> datetime.date:
        """The day it is where the band is, wherever the server stands."""
        return timezone.localdate(timezone=self.zone)


class RoleGrant(models.Model):
    """A role that an account has in a season."""

    user = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.CASCADE, related_name="role_grants"
    )
    season = models.ForeignKey(Season, on_delete=models.CASCADE, related_name="role_grants")
    role = models.CharField(max_length=20, choices=Role.choices)

    audit_called = "role"
    audit_said = {
        "give role": "made {user} {role}",
        "take role away": "took the role of {role} from {user}",
        "hand over": "made {user} {role} in handing the band over",
    }
    audit_final = True

    class Meta:
        constraints = [models.UniqueConstraint(fields=["user", "season", "role"], name="role_once")]

    def __str__(self) -> str:
        return f"{self.user}: {self.role}"


class Deputy(models.Model):
    """Staff who have the director's rights from one day through another, in the season's time.

    It ends by itself. Deputies name no deputies and give no roles.
    """

    season = models.ForeignKey(Season, on_delete=models.CASCADE, related_name="deputies")
    user = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.CASCADE, related_name="deputy_days"
    )
    named_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.CASCADE, related_name="deputies_named"
    )
    starts = models.DateField("first day")
    ends = models.DateField("last day")

    audit_said = {
        "name deputy": "named {user} as deputy",
        "end deputy's rights": "ended the rights of {user} as deputy",
    }
    audit_final = True

    class Meta:
        ordering = ["starts", "id"]
        constraints = [
            models.CheckConstraint(
                condition=Q(ends__gte=models.F("starts")),
                name="deputy_ends_after_start",
                violation_error_message="The last day is before the first.",
            ),
            models.CheckConstraint(
                condition=~Q(user=models.F("named_by")),
                name="deputy_is_somebody_else",
                violation_error_message="Name somebody else: you are the director.",
            ),
            models.UniqueConstraint(
                fields=["season", "user", "starts"],
                name="deputy_once_a_day",
                violation_error_message="They are deputy from that day already.",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.user}: deputy of {self.named_by}, {self.days}"

    @property
    def days(self) -> str:
        """'on Sat, Oct 3', or 'from Sat, Oct 3 through Sun, Oct 4'."""
        first, last = weekday_words(self.starts), weekday_words(self.ends)
        return f"on {first}" if self.starts == self.ends else f"from {first} through {last}"
