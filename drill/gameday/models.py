"""Changes of the day: a published lineup mended on the spot, and what two people wanted at once."""

from __future__ import annotations

import datetime
import uuid
from collections.abc import Collection

from django.conf import settings
from django.db import models
from django.db.models import Q

from drill.absences.models import AT_ONCE, Absence
from drill.events.models import Event
from drill.gameday.enums import ClashState, RequestState
from drill.lineup.models import Lineup
from roster.people.enums import Merging
from roster.people.models import Member
from roster.ranks.models import Spot


class DayChange(models.Model):
    """One change from the game-day desk: from one revision to the next, taken back in one step.

    ``seats`` lists [segment, spot, before, after] ids, ``pins`` [segment or none, spot] of the pins
    on whoever is out that fell with it. ``key`` is made on the phone, so that a
    change sent twice happens once. ``noted_at`` is when it was wanted there, not known of old ones.
    """

    event = models.ForeignKey(Event, on_delete=models.CASCADE, related_name="day_changes")
    key = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    before = models.ForeignKey(Lineup, on_delete=models.PROTECT, related_name="+")
    after = models.ForeignKey(Lineup, on_delete=models.PROTECT, related_name="day_changes")
    seats = models.JSONField(default=list)
    pins = models.JSONField(default=list)
    member_out = models.ForeignKey(
        Member, null=True, on_delete=models.PROTECT, related_name="day_changes_out"
    )
    absence = models.ForeignKey(Absence, null=True, on_delete=models.SET_NULL, related_name="+")
    made_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, on_delete=models.SET_NULL, related_name="+"
    )
    made_at = models.DateTimeField(auto_now_add=True)
    noted_at = models.DateTimeField(null=True)
    undone_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, on_delete=models.SET_NULL, related_name="+"
    )
    undone_at = models.DateTimeField(null=True)

    audit_called = "change of the day"
    audit_said = {
        "fill on the day": (
            "filled in for {member_out} at {event}",
            "filled an open spot at {event}",
        ),
        "swap on the day": "swapped two members at {event}",
        "undo change of the day": "undid a change of the day at {event}",
        "not out after all": "undid a change of the day at {event}",
    }
    audit_final = True

    merging = Merging.STAY

    class Meta:
        ordering = ["-id"]

    def __str__(self) -> str:
        return f"{self.event}: revision {self.before.number} to {self.after.number}"

    @property
    def recorded_at(self) -> datetime.datetime:
        """When it was wanted, on whatever phone."""
        return self.noted_at or self.made_at

    def seats_in(self, segments: Collection[int]) -> list[list[int | None]]:
        """The rows of ``seats`` in the segments."""
        return [row for row in self.seats if row[0] in segments]


class Clash(models.Model):
    """A wish for a spot that came too late, or could not be done: one card for staff to decide.

    Nothing is overwritten: the seat keeps whoever stands there (``standing``, or nobody) until
    then. ``wanted`` steps in, or nobody does; in a chain they take the place of ``mover``, who
    goes to the spot. ``seats`` lists [segment, spot, member or none] as it stood when the wish
    arrived, ``leaves`` [segment, spot] of what ``wanted`` marched then. ``arrived_at`` is not
    known of old cards.
    """

    event = models.ForeignKey(Event, on_delete=models.CASCADE, related_name="clashes")
    key = models.UUIDField(unique=True, editable=False)
    spot = models.ForeignKey(Spot, on_delete=models.CASCADE, related_name="clashes")
    member_out = models.ForeignKey(
        Member, null=True, on_delete=models.CASCADE, related_name="clashes_out"
    )
    standing = models.ForeignKey(
        Member, null=True, on_delete=models.CASCADE, related_name="clashes_standing"
    )
    wanted = models.ForeignKey(
        Member, null=True, on_delete=models.CASCADE, related_name="clashes_wanted"
    )
    mover = models.ForeignKey(
        Member, null=True, on_delete=models.CASCADE, related_name="clashes_moving"
    )
    seats = models.JSONField(default=list)
    leaves = models.JSONField(default=list)
    wanted_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, on_delete=models.SET_NULL, related_name="+"
    )
    wanted_at = models.DateTimeField()
    arrived_at = models.DateTimeField(null=True)
    state = models.CharField(max_length=10, choices=ClashState.choices, default=ClashState.OPEN)
    decided_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, on_delete=models.SET_NULL, related_name="+"
    )
    decided_at = models.DateTimeField(null=True)

    audit_called = "card to decide"
    audit_said = {
        "decide between two fills": "decided who marches {spot} at {event}",
        "fill on the day": "wanted another fill of {spot} at {event}",
    }
    audit_final = True

    merging = Merging.STAY

    class Meta:
        ordering = ["id"]
        constraints = [
            models.CheckConstraint(
                condition=Q(state=ClashState.OPEN, decided_at__isnull=True)
                | (~Q(state=ClashState.OPEN) & Q(decided_at__isnull=False)),
                name="clash_decided_has_time",
            ),
            models.CheckConstraint(
                condition=Q(mover__isnull=True) | Q(wanted__isnull=False),
                name="clash_chain_has_both",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.spot}: {self.standing or 'nobody'} or {self.chosen or 'nobody'}"

    @property
    def chosen(self) -> Member | None:
        """Who was to march the spot."""
        return self.mover or self.wanted

    @property
    def waited(self) -> bool:
        """It was wanted well before it arrived."""
        return self.arrived_at is not None and self.arrived_at - self.wanted_at > AT_ONCE

    @property
    def is_away(self) -> bool:
        """Whoever stands there is the one who is out: nobody else has the spot."""
        return self.standing_id is not None and self.standing_id == self.member_out_id


class FillRequest(models.Model):
    """A fill or a swap that staff propose after the cut-off; it waits for the director's word.

    ``form`` is the desk's form as it was sent, read again when it is approved; ``seats`` lists
    [segment, spot, before, after] ids as they were then: somebody else there by now makes the
    request outdated.
    """

    event = models.ForeignKey(Event, on_delete=models.CASCADE, related_name="fill_requests")
    key = models.UUIDField(unique=True, editable=False)
    form = models.TextField()
    seats = models.JSONField(default=list)
    member_out = models.ForeignKey(
        Member, null=True, on_delete=models.CASCADE, related_name="fill_requests_out"
    )
    asked_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, on_delete=models.SET_NULL, related_name="+"
    )
    asked_at = models.DateTimeField(auto_now_add=True)
    note = models.CharField(max_length=200, blank=True)
    state = models.CharField(
        max_length=10, choices=RequestState.choices, default=RequestState.WAITING
    )
    answer = models.CharField(max_length=200, blank=True)
    decided_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, on_delete=models.SET_NULL, related_name="+"
    )
    decided_for = models.CharField("as deputy of", max_length=254, blank=True)
    decided_at = models.DateTimeField(null=True)
    change = models.OneToOneField(
        DayChange, null=True, on_delete=models.PROTECT, related_name="request"
    )

    audit_called = "request to the director"
    audit_said = {
        "ask for the director's word": "asked the director about {event}",
        "approve the *": "approved what {asked_by} asked for at {event}",
        "decline a request": "declined what {asked_by} asked for at {event}",
        "withdraw a request": "withdrew a request about {event}",
    }
    audit_final = True

    class Meta:
        ordering = ["id"]
        constraints = [
            models.CheckConstraint(
                condition=Q(state=RequestState.WAITING, decided_at__isnull=True)
                | (~Q(state=RequestState.WAITING) & Q(decided_at__isnull=False)),
                name="request_decided_has_time",
            ),
            models.CheckConstraint(
                condition=Q(state=RequestState.APPROVED, change__isnull=False)
                | (~Q(state=RequestState.APPROVED) & Q(change__isnull=True)),
                name="request_approved_has_change",
            ),
            models.CheckConstraint(
                condition=~Q(state=RequestState.DECLINED, answer=""),
                name="request_declined_with_a_word",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.member_out or 'nobody'} out, asked by {self.asked_by}"

    @property
    def decider(self) -> str:
        """Who decided it: 'Dana Ferrow, as deputy of Imogen Wray'."""
        deputy = f", as deputy of {self.decided_for}" if self.decided_for else ""
        return f"{self.decided_by}{deputy}"
