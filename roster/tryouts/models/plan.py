"""Who marks whom when: evaluators of a tryout, groups of candidates and their panels."""

from __future__ import annotations

from django.conf import settings
from django.db import models

from bandops.lib.bounds import MOST_ORDER, between, within
from roster.tryouts.models.candidates import Candidate
from roster.tryouts.models.tryouts import Tryout, TryoutSession

LONGEST_GROUP = 240


class Panelist(models.Model):
    """An account that evaluates in a tryout; ``code`` is what sheets and pictures call them."""

    tryout = models.ForeignKey(Tryout, on_delete=models.CASCADE, related_name="panelists")
    user = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="panels"
    )
    code = models.CharField(max_length=8)
    most_looks = models.PositiveSmallIntegerField(
        "most looks", null=True, blank=True, validators=between(1, MOST_ORDER)
    )
    away = models.ManyToManyField(
        TryoutSession, blank=True, related_name="away", verbose_name="not there in"
    )

    audit_called = "evaluator of a tryout"
    audit_said = {
        "save panelist": "saved the evaluator {code}",
        "add panelists": "added the evaluator {code}",
        "remove panelist": "removed the evaluator {code}",
    }

    class Meta:
        ordering = ["code"]
        constraints = [
            models.UniqueConstraint(fields=["tryout", "user"], name="panelist_once"),
            models.UniqueConstraint(fields=["tryout", "code"], name="panelist_code_once"),
            models.CheckConstraint(
                condition=within("most_looks", 1, MOST_ORDER), name="panelist_looks_in_bounds"
            ),
        ]

    def __str__(self) -> str:
        return self.code


class TryoutGroup(models.Model):
    """Candidates who are seen together. Groups of one session with one ``slot`` are seen at the
    same time."""

    session = models.ForeignKey(TryoutSession, on_delete=models.CASCADE, related_name="groups")
    number = models.PositiveSmallIntegerField(validators=between(1, MOST_ORDER))
    slot = models.PositiveSmallIntegerField(default=1, validators=between(1, MOST_ORDER))
    starts_at = models.DateTimeField()
    minutes = models.PositiveSmallIntegerField(default=12, validators=between(1, LONGEST_GROUP))

    audit_called = "group of a tryout"
    audit_said = {
        "make groups": "made group {number}",
        "propose panels": "gave group {number} its evaluators",
        "change group": "changed group {number}",
    }

    class Meta:
        ordering = ["session__starts_at", "slot", "number"]
        constraints = [
            models.UniqueConstraint(fields=["session", "number"], name="tryout_group_once"),
            models.CheckConstraint(
                condition=within("number", 1, MOST_ORDER)
                & within("slot", 1, MOST_ORDER)
                & within("minutes", 1, LONGEST_GROUP),
                name="tryout_group_in_bounds",
            ),
        ]

    def __str__(self) -> str:
        return f"Group {self.number}"


class GroupPlace(models.Model):
    """A candidate in a group, in the order of the sheet."""

    group = models.ForeignKey(TryoutGroup, on_delete=models.CASCADE, related_name="places")
    candidate = models.ForeignKey(Candidate, on_delete=models.CASCADE, related_name="places")
    order = models.PositiveSmallIntegerField(validators=between(1, MOST_ORDER))

    audit_called = "candidate in a group"
    audit_said = {
        "make groups": "put {candidate} into {group}",
        "change group": "put {candidate} into {group}",
    }

    class Meta:
        ordering = ["order"]
        constraints = [
            models.UniqueConstraint(fields=["group", "candidate"], name="once_in_a_group"),
            models.CheckConstraint(
                condition=within("order", 1, MOST_ORDER), name="group_order_in_bounds"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.group}: {self.candidate}"


class GroupEvaluator(models.Model):
    """An evaluator of a group's panel."""

    group = models.ForeignKey(TryoutGroup, on_delete=models.CASCADE, related_name="panel")
    panelist = models.ForeignKey(Panelist, on_delete=models.CASCADE, related_name="groups")

    audit_called = "evaluator of a group"
    audit_said = {
        "propose panels": "gave {group} the evaluator {panelist}",
        "change group": "gave {group} the evaluator {panelist}",
        "make groups": "gave {group} the evaluator {panelist}",
    }

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["group", "panelist"], name="once_on_a_panel"),
        ]

    def __str__(self) -> str:
        return f"{self.group}: {self.panelist}"
