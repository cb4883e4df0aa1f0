"""Rehearsals: what happens when, who is there, who worked on which spot."""

from __future__ import annotations

import uuid

from django.conf import settings
from django.db import models

from bandops.lib import clocks
from bandops.lib.bounds import between, within
from bandops.lib.dates import clock_words
from drill.events.models import Event
from drill.rehearsals.enums import AttendanceState
from drill.shows.models import DrillSet, Show
from roster.people.models import Member
from roster.ranks.models import Spot


class RehearsalBlock(models.Model):
    """A stretch of a rehearsal: from when to when, where, what is worked on. One that ends at or
    before its start ends after midnight."""

    event = models.ForeignKey(Event, on_delete=models.CASCADE, related_name="blocks")
    starts = models.TimeField()
    ends = models.TimeField()
    what = models.CharField(max_length=100)
    where = models.CharField(max_length=100, blank=True)
    show = models.ForeignKey(
        Show, null=True, blank=True, on_delete=models.SET_NULL, related_name="blocks"
    )

    # Nobody rehearses in the hour that the clocks show twice.
    starts_fold = ends_fold = False

    audit_said = {
        "save block": "saved {what} at {starts}, {event}",
        "remove block": "removed {what} from {event}",
    }

    class Meta:
        ordering = ["event", "starts", "id"]
        constraints = [
            models.CheckConstraint(
                condition=clocks.has_length(),
                name="block_has_length",
                violation_error_message="It must end after it starts.",
            ),
        ]

    def __str__(self) -> str:
        return f"{clock_words(self.starts)} {self.what}"

    def clean(self) -> None:
        """No block lasts longer than can be meant."""
        clocks.refuse_too_long(self.starts, self.ends)


class Attendance(models.Model):
    """What one person noted about one member at one rehearsal or performance.

    Notes are added, never overwritten: of each noter the latest counts, and where two noters
    differ both are shown until staff or the rank's leader settle it with one that ``settles``.
    ``key`` is made on the phone, so that a note sent twice is kept once.
    """

    event = models.ForeignKey(Event, on_delete=models.CASCADE, related_name="attendance")
    member = models.ForeignKey(Member, on_delete=models.CASCADE, related_name="attendance")
    state = models.CharField(max_length=10, choices=AttendanceState.choices)
    key = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    settles = models.BooleanField(default=False)
    noted_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, on_delete=models.SET_NULL, related_name="+"
    )
    noted_at = models.DateTimeField()
    received_at = models.DateTimeField(auto_now_add=True)

    audit_said = {
        "note attendance": "noted {member} as {state}, {event}",
        "note everybody else here": "noted everybody else as here, {event}",
    }
    audit_final = True

    class Meta:
        ordering = ["event", "member", "id"]
        indexes = [models.Index(fields=["event", "member"], name="attendance_of")]

    def __str__(self) -> str:
        return f"{self.member}: {self.state}"


class PracticeEntry(models.Model):
    """A member worked on a spot at a rehearsal: some sets of a show, in the version of that day."""

    event = models.ForeignKey(Event, on_delete=models.CASCADE, related_name="practice_log")
    member = models.ForeignKey(Member, on_delete=models.CASCADE, related_name="practice_log")
    spot = models.ForeignKey(Spot, on_delete=models.CASCADE, related_name="practice_log")
    show = models.ForeignKey(Show, on_delete=models.CASCADE, related_name="practice_log")
    sets = models.ManyToManyField(DrillSet, related_name="practised_in")
    key = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    noted_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, on_delete=models.SET_NULL, related_name="+"
    )
    noted_at = models.DateTimeField()

    audit_called = "practice"
    audit_said = {
        "log practice": "noted that {member} worked on {spot}",
        "take practice back": "took back that {member} worked on {spot}",
    }

    class Meta:
        ordering = ["-noted_at", "-id"]

    def __str__(self) -> str:
        return f"{self.member} on {self.spot}, {self.show}"


MOST_PRACTISED = 10_000


class Practice(models.Model):
    """How many sets of a show a member is said to have practised on a spot they do not hold; what
    the practice log knows stands beside it."""

    member = models.ForeignKey(Member, on_delete=models.CASCADE, related_name="practice")
    spot = models.ForeignKey(Spot, on_delete=models.CASCADE, related_name="practice")
    show = models.ForeignKey(Show, on_delete=models.CASCADE, related_name="practice")
    sets = models.PositiveSmallIntegerField("sets practised", validators=between(0, MOST_PRACTISED))

    audit_called = "practice before the log"

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["member", "spot", "show"], name="practice_once"),
            models.CheckConstraint(
                condition=within("sets", 0, MOST_PRACTISED), name="practised_sets_in_bounds"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.member} on {self.spot}: {self.sets} sets"
