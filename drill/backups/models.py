"""The backup plan of an event: which alternate learns which spot this week."""

from __future__ import annotations

from decimal import Decimal

from django.conf import settings
from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.db.models import Q

from bandops.lib.bounds import between
from drill.backups.enums import ChancesFrom
from drill.events.models import Event
from roster.people.models import Member
from roster.ranks.models import Spot


class BackupPlan(models.Model):
    """One event's plan with the figures it was judged by.

    ``figures`` holds expected holes before, after and by the plain rule, their half-widths, the
    sample bound and the number of scenarios; ``facts_hash`` is that of all it was made of.
    """

    event = models.OneToOneField(Event, on_delete=models.CASCADE, related_name="backup_plan")
    lessons_each = models.PositiveSmallIntegerField(
        "spots an alternate learns at most",
        default=3,
        validators=between(1, 6),
    )
    chance = models.DecimalField(
        "chance that a member with nothing reported is out",
        max_digits=3,
        decimal_places=2,
        default=Decimal("0.05"),
        validators=[MinValueValidator(Decimal("0.01")), MaxValueValidator(Decimal("0.5"))],
    )
    chances_from = models.CharField(
        "chances of being out",
        max_length=6,
        choices=ChancesFrom.choices,
        default=ChancesFrom.SEASON,
    )
    figures = models.JSONField(default=dict, blank=True)
    facts_hash = models.CharField(max_length=64, blank=True, default="")
    made_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, on_delete=models.SET_NULL, related_name="+"
    )
    made_at = models.DateTimeField(auto_now=True)

    audit_said = {
        "ask for a backup plan": "asked for the backup plan for {event}",
        "make the backup plan": "made the backup plan for {event}",
    }

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=Q(lessons_each__gte=1) & Q(lessons_each__lte=6),
                name="plan_lessons_1_to_6",
            ),
            models.CheckConstraint(
                condition=Q(chance__gt=0) & Q(chance__lte=Decimal("0.5")),
                name="plan_chance_up_to_half",
            ),
        ]

    def __str__(self) -> str:
        return f"backup plan for {self.event}"


class Lesson(models.Model):
    """A member learns a spot this week. A locked lesson stays when the plan is made again."""

    plan = models.ForeignKey(BackupPlan, on_delete=models.CASCADE, related_name="lessons")
    member = models.ForeignKey(Member, on_delete=models.CASCADE, related_name="lessons")
    spot = models.ForeignKey(Spot, on_delete=models.CASCADE, related_name="lessons")
    locked = models.BooleanField(default=False)

    audit_said = {
        "add lesson": "had {member} learn {spot}",
        "remove lesson": "took the lesson on {spot} from {member}",
        "lock lesson": "locked the lesson of {member} on {spot}",
        "unlock lesson": "unlocked the lesson of {member} on {spot}",
    }

    class Meta:
        ordering = ["member__person__sort_key", "spot"]
        constraints = [
            models.UniqueConstraint(fields=["plan", "member", "spot"], name="lesson_once"),
        ]

    def __str__(self) -> str:
        return f"{self.member} learns {self.spot}"
