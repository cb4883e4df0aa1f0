"""Absences: who is out, limited, late, leaving early or doubtful."""

from __future__ import annotations

import datetime
from collections.abc import Iterator
from decimal import Decimal

from django.conf import settings
from django.core.exceptions import ValidationError
from django.db import models
from django.db.models import F, Q

from drill.absences.enums import AbsenceKind, AbsenceState, ReasonCategory
from drill.events.models import Event, Segment
from roster.people.models import Member

AT_ONCE = datetime.timedelta(minutes=1)


class Absence(models.Model):
    """One entry about one member, for an event, one of its segments, or dates.

    Entries are never overwritten; where several speak of the same segment the latest wins, by when
    it was made: ``noted_at`` is that, where it was told, whenever the entry arrived.
    ``key`` comes of the form's own and of what it says, so that an entry sent twice is kept once.
    ``chance`` is that of being out. The category is for staff only and never a diagnosis.
    """

    member = models.ForeignKey(Member, on_delete=models.CASCADE, related_name="absences")
    event = models.ForeignKey(
        Event, null=True, blank=True, on_delete=models.CASCADE, related_name="absences"
    )
    segment = models.ForeignKey(
        Segment, null=True, blank=True, on_delete=models.CASCADE, related_name="absences"
    )
    from_date = models.DateField(null=True, blank=True)
    until_date = models.DateField("through", null=True, blank=True)
    kind = models.CharField(max_length=10, choices=AbsenceKind.choices)
    late_until = models.TimeField(null=True, blank=True)
    leaves_at = models.TimeField(null=True, blank=True)
    chance = models.DecimalField(
        "chance of being out", max_digits=3, decimal_places=2, default=Decimal(1)
    )
    state = models.CharField(
        max_length=10, choices=AbsenceState.choices, default=AbsenceState.CONFIRMED
    )
    category = models.CharField(
        max_length=10, choices=ReasonCategory.choices, blank=True, default=""
    )
    review_date = models.DateField(null=True, blank=True)
    reported_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, on_delete=models.SET_NULL, related_name="+"
    )
    created_at = models.DateTimeField(auto_now_add=True)
    noted_at = models.DateTimeField(null=True, editable=False)
    key = models.UUIDField(null=True, unique=True, editable=False)

    audit_said = {
        "report absence": "noted {member} as {kind}[ for {event}][ in {segment}]",
        "confirm absence": "confirmed that {member} is {kind}[ for {event}]",
        "decline absence": "declined that {member} is {kind}[ for {event}]",
        "withdraw absence": "withdrew the absence of {member}[ for {event}]",
        "not out after all": "said that {member} is not out after all",
    }
    audit_private = ("category",)
    audit_noted = ("review_date",)

    class Meta:
        ordering = ["-id"]
        constraints = [
            models.CheckConstraint(
                condition=Q(event__isnull=False) | Q(from_date__isnull=False),
                name="absence_says_when",
                violation_error_message="Give an event or a first day.",
            ),
            models.CheckConstraint(
                condition=Q(segment__isnull=True) | Q(event__isnull=False),
                name="absence_segment_has_event",
                violation_error_message="A segment needs its event.",
            ),
            models.CheckConstraint(
                condition=Q(until_date__isnull=True) | Q(until_date__gte=F("from_date")),
                name="absence_dates_in_order",
                violation_error_message="The last day is before the first.",
            ),
            models.CheckConstraint(
                condition=Q(chance__gte=0) & Q(chance__lte=1),
                name="absence_chance_0_to_1",
                violation_error_message="A chance lies between 0 and 1.",
            ),
            models.CheckConstraint(
                condition=~Q(kind=AbsenceKind.LATE) | Q(late_until__isnull=False),
                name="late_until_a_time",
                violation_error_message="Late until which time?",
            ),
            models.CheckConstraint(
                condition=~Q(kind=AbsenceKind.LEAVES) | Q(leaves_at__isnull=False),
                name="leaves_at_a_time",
                violation_error_message="Leaves at which time?",
            ),
            models.CheckConstraint(
                condition=Q(noted_at__isnull=True) | Q(noted_at__lte=F("created_at")),
                name="absence_made_before_it_came",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.member}: {self.kind}"

    @property
    def made_at(self) -> datetime.datetime:
        """When somebody said it, whenever it arrived."""
        return self.noted_at or self.created_at

    @property
    def waited(self) -> bool:
        """It was made well before it arrived: people may have known it in another order."""
        return self.created_at - self.made_at > AT_ONCE

    def clean(self) -> None:
        """No entry contradicts itself."""
        faults = dict(self._contradictions())
        if faults:
            raise ValidationError(faults)

    def _contradictions(self) -> Iterator[tuple[str, str]]:
        """Field and message."""
        if self.event_id is not None:
            for name in ("from_date", "until_date"):
                if getattr(self, name) is not None:
                    yield name, "Give an event or dates, not both."
        if self.late_until is not None and self.kind != AbsenceKind.LATE:
            yield "late_until", "Only late has this time."
        if self.leaves_at is not None and self.kind != AbsenceKind.LEAVES:
            yield "leaves_at", "Only leaving early has this time."
        if self.kind == AbsenceKind.DOUBTFUL:
            if not 0 < self.chance < 1:
                yield "chance", "For doubtful, give a chance between 0 and 1."
        elif self.chance != 1:
            yield "chance", "Only doubtful has a chance."
        # Of an event it may well be an earlier day: whether they can march after all.
        if self.review_date and self.from_date and self.review_date < self.from_date:
            yield "review_date", "This day is before the first day."
