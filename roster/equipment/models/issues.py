"""Who has what, and what they owe for it."""

from __future__ import annotations

import uuid

from django.conf import settings
from django.db import models
from django.db.models import F, Q

from bandops.lib.bounds import between, within
from roster.equipment.enums import ChargeState, Condition
from roster.equipment.models.items import CONDITIONS, Item
from roster.equipment.models.kinds import MOST_CENTS
from roster.people.enums import Merging
from roster.people.models import Member

MOST_LENT = Q(returned_at__isnull=True)


class Issue(models.Model):
    """An item with a member, from one moment to another. ``key`` is the device's: what it sends
    twice is one issue; ``due`` is when something lent comes back."""

    item = models.ForeignKey(Item, on_delete=models.PROTECT, related_name="issues")
    member = models.ForeignKey(Member, on_delete=models.PROTECT, related_name="issues")
    issued_at = models.DateTimeField()
    issued_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, blank=True, on_delete=models.SET_NULL, related_name="+"
    )
    condition_out = models.PositiveSmallIntegerField(
        choices=Condition.choices, validators=between(*CONDITIONS)
    )
    due = models.DateField("to be back by", null=True, blank=True)
    returned_at = models.DateTimeField(null=True, blank=True)
    returned_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, blank=True, on_delete=models.SET_NULL, related_name="+"
    )
    condition_in = models.PositiveSmallIntegerField(
        choices=Condition.choices, null=True, blank=True, validators=between(*CONDITIONS)
    )
    note = models.CharField(max_length=200, blank=True)
    key = models.UUIDField(unique=True, default=uuid.uuid4)
    return_key = models.UUIDField(unique=True, null=True, blank=True)

    audit_called = "item with a member"
    audit_said = {
        "issue": "handed {item} to {member}",
        "return": "took {item} back from {member}",
    }
    merging = Merging.KEEP
    audit_keepers = True

    class Meta:
        ordering = ["-issued_at", "-id"]
        constraints = [
            models.UniqueConstraint(
                fields=["item"], condition=MOST_LENT, name="item_with_one_member"
            ),
            models.CheckConstraint(
                condition=within("condition_out", *CONDITIONS)
                & within("condition_in", *CONDITIONS),
                name="issue_condition_known",
            ),
            models.CheckConstraint(
                condition=Q(returned_at__isnull=True) | Q(returned_at__gte=F("issued_at")),
                name="issue_returned_after",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.item}, {self.member}"


class Charge(models.Model):
    """What a member owes, or does no more. Members, the equipment manager and the director see
    it."""

    member = models.ForeignKey(Member, on_delete=models.PROTECT, related_name="charges")
    item = models.ForeignKey(
        Item, null=True, blank=True, on_delete=models.SET_NULL, related_name="charges"
    )
    cents = models.PositiveIntegerField(validators=between(1, MOST_CENTS))
    what = models.CharField("what for", max_length=200)
    state = models.CharField(
        max_length=6, choices=ChargeState.choices, default=ChargeState.OWED, editable=False
    )
    made_at = models.DateTimeField(auto_now_add=True)
    settled_at = models.DateTimeField(null=True, blank=True, editable=False)
    waived_for = models.CharField("why it is waived", max_length=200, blank=True)

    audit_said = {
        "charge": "noted a charge",
        "settle charge": "settled a charge",
    }
    audit_private = ("cents", "what", "state", "waived_for", "item_id")
    merging = Merging.KEEP
    audit_keepers = True

    class Meta:
        ordering = ["-made_at", "-id"]
        constraints = [
            models.CheckConstraint(
                condition=Q(state__in=ChargeState.values), name="charge_state_known"
            ),
            models.CheckConstraint(
                condition=within("cents", 1, MOST_CENTS), name="charge_in_bounds"
            ),
            models.CheckConstraint(
                condition=~Q(state=ChargeState.WAIVED) | ~Q(waived_for=""),
                name="charge_waived_for_a_reason",
            ),
        ]

    def __str__(self) -> str:
        return f"charge to {self.member}"
