"""Marks, which are never overwritten, and what was changed about them."""

from __future__ import annotations

from django.conf import settings
from django.db import models
from django.db.models import F, Q

from roster.tryouts.enums import Source
from roster.tryouts.models.candidates import Candidate
from roster.tryouts.models.plan import Panelist
from roster.tryouts.models.tryouts import Tryout, TryoutCriterion, TryoutSession


class Mark(models.Model):
    """What an evaluator first gave: a value on the criterion's scale, or *not seen* (no value).

    It stays as it came in. What counts is its latest change that took effect, if any.
    """

    candidate = models.ForeignKey(Candidate, on_delete=models.PROTECT, related_name="marks")
    criterion = models.ForeignKey(TryoutCriterion, on_delete=models.PROTECT, related_name="marks")
    panelist = models.ForeignKey(Panelist, on_delete=models.PROTECT, related_name="marks")
    session = models.ForeignKey(TryoutSession, on_delete=models.PROTECT, related_name="marks")
    value = models.DecimalField(max_digits=6, decimal_places=2, null=True)
    made_at = models.DateTimeField()
    source = models.CharField(max_length=10, choices=Source.choices, default=Source.SCREEN)

    audit_called = "mark of a tryout"
    audit_said = {
        "mark candidate": "marked {candidate}",
        "save typed sheet": "saved a typed mark of {candidate}",
        "import score sheets": "added a mark of {candidate}",
    }
    audit_private = ("value",)
    audit_final = True
    audit_reads = ("candidate__person", "criterion")

    class Meta:
        ordering = ["made_at", "id"]
        constraints = [
            models.UniqueConstraint(
                fields=["candidate", "criterion", "panelist", "session"], name="tryout_mark_once"
            ),
            models.CheckConstraint(
                condition=Q(value__isnull=True) | Q(value__gte=0), name="tryout_mark_from_0"
            ),
            models.CheckConstraint(
                condition=Q(source__in=Source.values), name="tryout_mark_source_known"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.candidate}, {self.criterion}"


class Correction(models.Model):
    """A change of others' marks: asked for with a reason, in effect when a second person agrees."""

    tryout = models.ForeignKey(Tryout, on_delete=models.CASCADE, related_name="corrections")
    reason = models.CharField(max_length=200)
    asked_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+"
    )
    asked_at = models.DateTimeField(auto_now_add=True)
    answered_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, on_delete=models.PROTECT, related_name="+"
    )
    answered_at = models.DateTimeField(null=True)
    agreed = models.BooleanField(null=True)

    audit_called = "correction of marks"
    audit_said = {
        "ask for correction": "asked for a correction: {reason}",
        "agree to correction": "agreed to a correction: {reason}",
        "refuse correction": "refused a correction: {reason}",
    }
    audit_final = True

    class Meta:
        ordering = ["-asked_at", "-id"]
        constraints = [
            models.CheckConstraint(
                condition=Q(answered_by__isnull=True)
                | ~Q(answered_by=F("asked_by"))
                | Q(agreed=False),
                name="correction_by_two_people",
                violation_error_message="A second person has to agree.",
            ),
            models.CheckConstraint(condition=~Q(reason=""), name="correction_has_reason"),
        ]

    def __str__(self) -> str:
        return self.reason


class MarkChange(models.Model):
    """A mark's new value, with the one before. Evaluators change their own at once; for others'
    there is a ``correction``. ``value`` empty: not seen."""

    mark = models.ForeignKey(Mark, on_delete=models.PROTECT, related_name="changes")
    before = models.DecimalField(max_digits=6, decimal_places=2, null=True)
    value = models.DecimalField(max_digits=6, decimal_places=2, null=True)
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    made_at = models.DateTimeField()
    correction = models.ForeignKey(
        Correction, null=True, on_delete=models.PROTECT, related_name="changes"
    )

    audit_called = "changed mark"
    audit_said = {
        "mark candidate": "changed the mark of {mark}",
        "ask for correction": "asked to correct the mark of {mark}",
    }
    audit_private = ("before", "value")
    audit_final = True
    audit_reads = ("mark__candidate__person", "mark__criterion")

    class Meta:
        ordering = ["made_at", "id"]
        constraints = [
            models.CheckConstraint(
                condition=Q(value__isnull=True) | Q(value__gte=0), name="changed_mark_from_0"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.mark}, changed"


class SettledFinding(models.Model):
    """Staff's word that something the sheet check found is right as it stands."""

    tryout = models.ForeignKey(Tryout, on_delete=models.CASCADE, related_name="settled")
    key = models.CharField(max_length=100)
    said_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, on_delete=models.SET_NULL, related_name="+"
    )
    said_at = models.DateTimeField(auto_now_add=True)

    audit_called = "finding of the sheet check"
    audit_said = {
        "settle finding": "said that marks are right as they stand",
    }

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["tryout", "key"], name="finding_settled_once"),
        ]

    def __str__(self) -> str:
        return "marks right as they stand"


class TypedSheet(models.Model):
    """One evaluator's paper sheet of one session, typed twice. ``first`` and ``second``: number of
    a candidate -> criterion's id -> what was typed."""

    session = models.ForeignKey(TryoutSession, on_delete=models.CASCADE, related_name="sheets")
    panelist = models.ForeignKey(Panelist, on_delete=models.CASCADE, related_name="sheets")
    name = models.CharField("sheet", max_length=20)
    first = models.JSONField(default=dict)
    first_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, on_delete=models.PROTECT, related_name="+"
    )
    second = models.JSONField(default=dict)
    second_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, on_delete=models.PROTECT, related_name="+"
    )
    saved_at = models.DateTimeField(null=True)

    audit_called = "typed sheet"
    audit_said = {
        "type sheet": "typed a sheet of {panelist}",
        "save typed sheet": "saved a typed sheet of {panelist}",
    }
    audit_private = ("first", "second")

    class Meta:
        ordering = ["session__starts_at", "panelist__code", "name"]
        constraints = [
            models.UniqueConstraint(
                fields=["session", "panelist", "name"], name="typed_sheet_once"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.session}, {self.panelist}, sheet {self.name}"
