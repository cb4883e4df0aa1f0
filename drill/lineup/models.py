"""Lineups and the staff's orders about them."""

from __future__ import annotations

import uuid

from django.conf import settings
from django.db import models
from django.db.models import F, Q

from bandops.lib.bounds import MOST_ORDER, between, within
from drill.events.models import Event, Segment
from drill.lineup.core.problem import Origin
from drill.lineup.enums import LineupState
from roster.people.enums import Merging
from roster.people.models import Member
from roster.ranks.models import Spot

ORIGINS = [(origin.value, origin.value) for origin in Origin]


class Lineup(models.Model):
    """Who marches each spot in each segment of an event.

    ``version`` counts the edits of a draft; ``number`` is the revision of a published one.
    ``levels`` holds name, value, bound and proven of each level; ``stage`` says who found it.
    ``override_reason`` says why it was published after the cut-off, ``override_for`` names the
    director where a deputy did it; both are for staff.
    ``facts_hash`` is the problem's without the reference: when it differs from today's, the
    lineup was made from data that has changed since.
    """

    event = models.ForeignKey(Event, on_delete=models.PROTECT, related_name="lineups")
    state = models.CharField(max_length=10, choices=LineupState.choices, default=LineupState.DRAFT)
    number = models.PositiveSmallIntegerField(null=True)
    version = models.PositiveIntegerField(default=1)
    code = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    problem_hash = models.CharField(max_length=64, blank=True, default="")
    facts_hash = models.CharField(max_length=64, blank=True, default="")
    stage = models.CharField(max_length=12, blank=True, default="")
    levels = models.JSONField(default=list)
    certificate = models.JSONField(null=True)
    change_notice = models.JSONField(null=True)
    show_versions = models.JSONField(default=dict)
    dots = models.JSONField("dots of the spots, by show", default=dict)
    created_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, on_delete=models.SET_NULL, related_name="+"
    )
    created_at = models.DateTimeField(auto_now_add=True)
    published_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, on_delete=models.SET_NULL, related_name="+"
    )
    published_at = models.DateTimeField(null=True)
    override_reason = models.CharField("why after the cut-off", max_length=200, blank=True)
    override_for = models.CharField("as deputy of", max_length=254, blank=True)

    audit_said = {
        "open draft": "started the lineup for {event}",
        "take proposal": "took the proposal for {event}",
        "start by hand": "started the lineup for {event} by hand",
        "revise lineup": "revised the lineup for {event}",
        "fill on the day": "changed the lineup for {event} on the day",
        "go back to a revision": "published an earlier revision again: {event}",
        "publish lineup": "published the lineup for {event}[, revision {number}]",
    }
    audit_hidden = ("certificate",)
    # The version only ever rises: a page of an edit that was taken back stays an old page.
    audit_undone = {"certificate": None, "version": F("version") + 1}

    class Meta:
        ordering = ["event", "number"]
        constraints = [
            models.UniqueConstraint(
                fields=["event"], condition=Q(state=LineupState.DRAFT), name="one_draft_an_event"
            ),
            models.UniqueConstraint(fields=["event", "number"], name="revision_once"),
            models.CheckConstraint(
                condition=Q(state=LineupState.DRAFT, number__isnull=True)
                | Q(state=LineupState.PUBLISHED, number__isnull=False),
                name="published_has_number",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.event}: {f'revision {self.number}' if self.number else 'draft'}"

    @property
    def publisher(self) -> str:
        """Whose revision it is: 'Dana Ferrow, as deputy of Imogen Wray'."""
        deputy = f", as deputy of {self.override_for}" if self.override_for else ""
        return f"{self.published_by}{deputy}"


class LineupRow(models.Model):
    """One seat of a lineup. ``reason`` holds codes and numbers; sentences are the page's."""

    lineup = models.ForeignKey(Lineup, on_delete=models.CASCADE, related_name="rows")
    segment = models.ForeignKey(Segment, on_delete=models.PROTECT, related_name="lineup_rows")
    spot = models.ForeignKey(Spot, on_delete=models.PROTECT, related_name="lineup_rows")
    member = models.ForeignKey(
        Member, null=True, on_delete=models.PROTECT, related_name="lineup_rows"
    )
    origin = models.CharField(max_length=10, choices=ORIGINS)
    doubtful = models.BooleanField(default=False)
    by_hand = models.BooleanField(default=False)
    reason = models.JSONField(default=dict)
    changed_in = models.PositiveIntegerField(default=1)

    audit_called = "spot in a lineup"
    audit_said = {
        "place by hand": (
            "put {member} in {spot} for {segment}",
            "left {spot} empty for {segment}",
        ),
        "swap by hand": "put {member} in {spot} for {segment}",
    }
    merging = Merging.STAY

    class Meta:
        ordering = ["segment__order", "spot__rank__order", "spot__number"]
        constraints = [
            models.UniqueConstraint(fields=["lineup", "segment", "spot"], name="one_row_a_seat"),
            models.UniqueConstraint(
                fields=["lineup", "segment", "member"],
                condition=Q(member__isnull=False),
                name="one_seat_a_member",
            ),
            models.CheckConstraint(
                condition=Q(member__isnull=True, origin__in=[Origin.HOLE, Origin.LEFT_OPEN])
                | Q(
                    member__isnull=False,
                    origin__in=[Origin.HOLDS, Origin.STANDS_IN, Origin.PINNED],
                ),
                name="origin_fits_member",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.spot}: {self.member or self.origin}"


class Pin(models.Model):
    """Staff's order: this member marches this spot, in one segment or in all."""

    event = models.ForeignKey(Event, on_delete=models.CASCADE, related_name="pins")
    segment = models.ForeignKey(
        Segment, null=True, blank=True, on_delete=models.CASCADE, related_name="pins"
    )
    spot = models.ForeignKey(Spot, on_delete=models.CASCADE, related_name="pins")
    member = models.ForeignKey(Member, on_delete=models.CASCADE, related_name="pins")

    audit_said = {
        "pin member": "pinned {member} to {spot}[ for {segment}]",
        "lift order": "lifted the pin of {member} to {spot}",
    }

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["event", "segment", "spot"], name="pin_once_a_seat"),
            models.UniqueConstraint(
                fields=["event", "spot"],
                condition=Q(segment__isnull=True),
                name="pin_once_a_spot",
            ),
        ]

    kind = "pin"

    def __str__(self) -> str:
        return f"{self.member} pinned to {self.spot}"


class Block(models.Model):
    """Staff's order: this member does not march this spot, or none where no spot is named."""

    event = models.ForeignKey(Event, on_delete=models.CASCADE, related_name="march_blocks")
    segment = models.ForeignKey(
        Segment, null=True, blank=True, on_delete=models.CASCADE, related_name="march_blocks"
    )
    spot = models.ForeignKey(
        Spot, null=True, blank=True, on_delete=models.CASCADE, related_name="march_blocks"
    )
    member = models.ForeignKey(Member, on_delete=models.CASCADE, related_name="march_blocks")

    audit_said = {
        "block member": (
            "blocked {member} from {spot}[ for {segment}]",
            "blocked {member} from every spot[ in {segment}]",
        ),
        "lift order": "lifted the block of {member}[ from {spot}]",
    }

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["event", "segment", "spot", "member"], name="block_once"
            ),
        ]

    kind = "block"

    def __str__(self) -> str:
        return f"{self.member} blocked from {self.spot or 'every spot'}"


class OpenSeat(models.Model):
    """Staff's choice to leave a spot open, in one segment or in all."""

    event = models.ForeignKey(Event, on_delete=models.CASCADE, related_name="open_seats")
    segment = models.ForeignKey(
        Segment, null=True, blank=True, on_delete=models.CASCADE, related_name="open_seats"
    )
    spot = models.ForeignKey(Spot, on_delete=models.CASCADE, related_name="open_seats")

    audit_called = "spot left open"
    audit_said = {
        "leave spot open": "left {spot} open[ for {segment}]",
        "lift order": "had {spot} filled again",
    }

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["event", "segment", "spot"], name="open_once"),
            models.UniqueConstraint(
                fields=["event", "spot"],
                condition=Q(segment__isnull=True),
                name="open_once_a_spot",
            ),
        ]

    kind = "openseat"

    def __str__(self) -> str:
        return f"{self.spot} left open"


class Backup(models.Model):
    """A member named in readiness for a spot: order 1 is the first backup."""

    spot = models.ForeignKey(Spot, on_delete=models.CASCADE, related_name="backups")
    member = models.ForeignKey(Member, on_delete=models.CASCADE, related_name="backups")
    order = models.PositiveSmallIntegerField(default=1, validators=between(1, MOST_ORDER))

    audit_said = {
        "name backup": "named {member} as a backup for {spot}",
        "remove backup": "took {member} off the backups for {spot}",
        "make first backup": "put the backups for {spot} in another order",
    }

    class Meta:
        ordering = ["spot", "order"]
        constraints = [
            models.UniqueConstraint(fields=["spot", "member"], name="backup_once"),
            models.UniqueConstraint(fields=["spot", "order"], name="backup_order_once"),
            models.CheckConstraint(
                condition=within("order", 1, MOST_ORDER), name="backup_order_in_bounds"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.member} is a backup for {self.spot}"
