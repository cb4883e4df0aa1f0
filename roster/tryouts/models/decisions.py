"""What a tryout decided: versions, each signed by two, with an offer for every candidate."""

from __future__ import annotations

import datetime

from django.conf import settings
from django.db import models
from django.db.models import F, Q

from bandops.lib.bounds import MOST_ORDER, between, within
from roster.people.models import Part
from roster.tryouts.enums import OfferKind, OfferState
from roster.tryouts.models.candidates import Candidate
from roster.tryouts.models.tryouts import Tryout


class Decision(models.Model):
    """One version of a decision. It counts when two people on the staff have signed it; a later
    change is a new version with its reason. ``basis`` keeps the rules and figures it was made
    on."""

    tryout = models.ForeignKey(Tryout, on_delete=models.CASCADE, related_name="decisions")
    version = models.PositiveSmallIntegerField(validators=between(1, MOST_ORDER))
    reason = models.CharField(max_length=300, blank=True)
    basis = models.JSONField(default=dict)
    made_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, on_delete=models.PROTECT, related_name="+"
    )
    made_at = models.DateTimeField(auto_now_add=True)
    first_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, on_delete=models.PROTECT, related_name="+"
    )
    first_at = models.DateTimeField(null=True)
    second_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, on_delete=models.PROTECT, related_name="+"
    )
    second_at = models.DateTimeField(null=True)

    audit_said = {
        "make decision": "made version {version} of the decision",
        "sign decision": "signed version {version} of the decision",
        "drop decision": "dropped version {version} of the decision",
        "take option": "made version {version} of the decision",
    }
    audit_private = ("basis",)
    audit_final = True

    class Meta:
        ordering = ["-version"]
        constraints = [
            models.UniqueConstraint(fields=["tryout", "version"], name="decision_version_once"),
            models.CheckConstraint(
                condition=within("version", 1, MOST_ORDER), name="decision_version_in_bounds"
            ),
            models.CheckConstraint(
                condition=Q(second_by__isnull=True)
                | Q(first_by__isnull=False) & ~Q(first_by=F("second_by")),
                name="decision_signed_by_two",
                violation_error_message="Two different people sign.",
            ),
        ]

    def __str__(self) -> str:
        return f"Version {self.version}"

    @property
    def is_signed(self) -> bool:
        return self.second_at is not None


class Offer(models.Model):
    """What a candidate is offered by one version of the decision, and why."""

    decision = models.ForeignKey(Decision, on_delete=models.CASCADE, related_name="offers")
    candidate = models.ForeignKey(Candidate, on_delete=models.PROTECT, related_name="offers")
    kind = models.CharField(max_length=10, choices=OfferKind.choices)
    part = models.ForeignKey(
        Part, null=True, blank=True, on_delete=models.PROTECT, related_name="offers"
    )
    standing = models.PositiveSmallIntegerField(
        null=True, blank=True, validators=between(1, MOST_ORDER)
    )
    reason = models.CharField(max_length=300)
    by_hand = models.BooleanField(default=False)
    state = models.CharField(max_length=10, choices=OfferState.choices, default=OfferState.OPEN)
    expires_at = models.DateTimeField(null=True, blank=True)
    answered_at = models.DateTimeField(null=True)
    told_at = models.DateTimeField(null=True)

    audit_said = {
        "make decision": "offered {candidate} {kind}[ ({part})]",
        "take option": "offered {candidate} {kind}[ ({part})]",
        "change offer": "changed the offer to {candidate}: {kind}[ ({part})]",
        "answer offer": "noted the answer of {candidate}: {state}",
        "set when offers expire": "set when the offer to {candidate} expires",
        "tell result": "told {candidate} the result",
    }
    audit_private = ("reason",)

    class Meta:
        ordering = ["part__instrument__order", "part__order", "kind", "standing", "pk"]
        constraints = [
            models.UniqueConstraint(fields=["decision", "candidate"], name="offer_once"),
            models.CheckConstraint(
                condition=Q(kind__in=OfferKind.values) & Q(state__in=OfferState.values),
                name="offer_known",
            ),
            models.CheckConstraint(
                condition=Q(kind=OfferKind.NONE, part__isnull=True)
                | ~Q(kind=OfferKind.NONE) & Q(part__isnull=False),
                name="offer_has_part",
            ),
            models.CheckConstraint(
                condition=(
                    Q(kind=OfferKind.ALTERNATE, standing__isnull=False)
                    | ~Q(kind=OfferKind.ALTERNATE) & Q(standing__isnull=True)
                )
                & within("standing", 1, MOST_ORDER),
                name="alternate_has_standing",
            ),
            models.UniqueConstraint(
                fields=["decision", "part", "standing"],
                condition=Q(kind=OfferKind.ALTERNATE),
                name="offered_standing_once",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.candidate}: {self.words}"

    @property
    def words(self) -> str:
        """'trumpet', 'alternate 2 for trumpet', 'no offer'."""
        if self.kind == OfferKind.SPOT:
            return str(self.part)
        if self.kind == OfferKind.ALTERNATE:
            return f"alternate {self.standing} for {self.part}"
        return "no offer"

    def is_past(self, now: datetime.datetime) -> bool:
        """Its deadline is over."""
        return self.expires_at is not None and self.expires_at <= now

    def has_expired(self, now: datetime.datetime) -> bool:
        """Nobody answered in time."""
        waits = self.state == OfferState.OPEN and self.kind != OfferKind.NONE
        return waits and self.is_past(now)

    def stands(self, now: datetime.datetime) -> bool:
        """The candidate has or may still take what is offered."""
        gone = self.state in (OfferState.DECLINED, OfferState.WITHDRAWN)
        return self.kind != OfferKind.NONE and not gone and not self.has_expired(now)
