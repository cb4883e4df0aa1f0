"""Who tries out: numbers, wanted parts, what is still missing, and who must not mark them."""

from __future__ import annotations

from django.conf import settings
from django.db import models

from bandops.lib.bounds import MOST_ORDER, between, within
from roster.people.enums import Merging
from roster.people.models import Part, Person
from roster.tryouts.models.tryouts import Tryout

MOST_NUMBER = 9_999


class Candidate(models.Model):
    """A person who tries out. Evaluators know the number and the parts, never the name."""

    tryout = models.ForeignKey(Tryout, on_delete=models.CASCADE, related_name="candidates")
    person = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="candidacies")
    number = models.PositiveSmallIntegerField(
        null=True, blank=True, validators=between(1, MOST_NUMBER)
    )
    years_marched = models.PositiveSmallIntegerField(default=0, validators=between(0, 20))
    may_lead = models.BooleanField("may lead a rank", default=False)
    height = models.PositiveSmallIntegerField(
        "height in cm, if they want it considered",
        null=True,
        blank=True,
        validators=between(90, 250),
    )
    checked_in_at = models.DateTimeField(null=True, blank=True)
    withdrawn_at = models.DateTimeField(null=True, blank=True)

    audit_said = {
        "add candidate": "added {person} to the tryout",
        "change candidate": "changed the candidate {person}",
        "check candidate in": "checked {person} in",
        "take check-in back": "took the check-in of {person} back",
        "give numbers": "gave {person} a number",
        "replace number": "gave {person} another number",
        "withdraw candidate": "noted that {person} withdrew",
        "take candidate back": "took {person} into the tryout again",
    }
    audit_private = ("number", "height")
    audit_reads = ("person",)
    merging = Merging.KEEP

    class Meta:
        ordering = ["person__sort_key", "id"]
        constraints = [
            models.UniqueConstraint(fields=["tryout", "person"], name="candidate_once"),
            models.UniqueConstraint(fields=["tryout", "number"], name="candidate_number_once"),
            models.CheckConstraint(
                condition=within("number", 1, MOST_NUMBER)
                & within("years_marched", 0, 20)
                & within("height", 90, 250),
                name="candidate_in_bounds",
            ),
        ]

    def __str__(self) -> str:
        return str(self.person)

    @property
    def is_returning(self) -> bool:
        return self.years_marched > 0

    @property
    def called(self) -> str:
        """What evaluators call them."""
        return str(self.number) if self.number else "no number"


class WantedPart(models.Model):
    """A part that a candidate tries for; the first wish has order 1."""

    candidate = models.ForeignKey(Candidate, on_delete=models.CASCADE, related_name="wishes")
    part = models.ForeignKey(Part, on_delete=models.PROTECT, related_name="wanted_by")
    order = models.PositiveSmallIntegerField(validators=between(1, MOST_ORDER))

    audit_called = "wanted part"
    audit_said = {
        "add candidate": "noted that {candidate} wants {part}",
        "change candidate": "noted that {candidate} wants {part}",
    }

    class Meta:
        ordering = ["order"]
        constraints = [
            models.UniqueConstraint(fields=["candidate", "part"], name="wanted_part_once"),
            models.UniqueConstraint(fields=["candidate", "order"], name="wish_order_once"),
            models.CheckConstraint(
                condition=within("order", 1, MOST_ORDER), name="wish_order_in_bounds"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.candidate}: {self.part}"


class RetiredNumber(models.Model):
    """A number that somebody had and nobody gets again: sheets may still carry it."""

    tryout = models.ForeignKey(Tryout, on_delete=models.CASCADE, related_name="retired_numbers")
    candidate = models.ForeignKey(
        Candidate, on_delete=models.CASCADE, related_name="retired_numbers"
    )
    number = models.PositiveSmallIntegerField(validators=between(1, MOST_NUMBER))
    retired_at = models.DateTimeField(auto_now_add=True)

    audit_called = "number given up"
    audit_said = {
        "replace number": "retired the old number of {candidate}",
    }
    audit_private = ("number",)

    class Meta:
        ordering = ["number"]
        constraints = [
            models.UniqueConstraint(fields=["tryout", "number"], name="retired_number_once"),
            models.CheckConstraint(
                condition=within("number", 1, MOST_NUMBER), name="retired_number_in_bounds"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.candidate}: a number given up"


class ReadinessItem(models.Model):
    """Something every candidate must have before they march, such as a form. Who lacks it is
    known, never why."""

    tryout = models.ForeignKey(Tryout, on_delete=models.CASCADE, related_name="readiness_items")
    name = models.CharField(max_length=60)
    needed_to_march = models.BooleanField(
        "nobody marches without it",
        default=True,
        help_text="Check-in warns when it is missing.",
    )
    order = models.PositiveSmallIntegerField(default=0, validators=between(0, MOST_ORDER))

    audit_called = "readiness item"
    audit_said = {
        "save readiness item": "saved “{name}”",
        "remove readiness item": "removed “{name}”",
        "copy tryout": "added “{name}”",
    }

    class Meta:
        ordering = ["order", "id"]
        constraints = [
            models.UniqueConstraint(fields=["tryout", "name"], name="readiness_item_once"),
            models.CheckConstraint(
                condition=within("order", 0, MOST_ORDER), name="readiness_order_in_bounds"
            ),
        ]

    def __str__(self) -> str:
        return self.name


class ItemReady(models.Model):
    """A candidate has an item."""

    candidate = models.ForeignKey(Candidate, on_delete=models.CASCADE, related_name="ready")
    item = models.ForeignKey(ReadinessItem, on_delete=models.CASCADE, related_name="ready")
    noted_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, on_delete=models.SET_NULL, related_name="+"
    )

    audit_called = "item of a candidate"
    audit_said = {
        "note readiness": "noted whether {candidate} has “{item}”",
        "check candidate in": "noted that {candidate} has “{item}”",
    }

    class Meta:
        verbose_name_plural = "items ready"
        constraints = [
            models.UniqueConstraint(fields=["candidate", "item"], name="item_ready_once"),
        ]

    def __str__(self) -> str:
        return f"{self.candidate}: {self.item}"


class Recusal(models.Model):
    """An evaluator who declared a relation to a candidate does not mark them. Which relation is
    nobody's business."""

    candidate = models.ForeignKey(Candidate, on_delete=models.CASCADE, related_name="recusals")
    evaluator = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.CASCADE, related_name="tryout_recusals"
    )
    declared_at = models.DateTimeField(auto_now_add=True)

    audit_called = "evaluator recused"
    audit_said = {
        "recuse evaluator": "kept {evaluator} from marking {candidate}",
        "lift recusal": "let {evaluator} mark {candidate}",
    }

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["candidate", "evaluator"], name="recused_once"),
        ]

    def __str__(self) -> str:
        return f"{self.evaluator} does not mark {self.candidate}"
