"""Persons, who live through many seasons, and members, who belong to one."""

from __future__ import annotations

import datetime
from typing import Any

from django.conf import settings
from django.db import models
from django.db.models import F, Q

from bandops.lib.bounds import between, within
from bandops.lib.dates import day_words
from bandops.lib.names import clean_name, plain
from bandops.lib.person_names import sort_key
from roster.people.enums import MemberStatus, Standing
from roster.people.models.instruments import Part
from roster.people.models.seasons import Season

MOST_YEARS = 20


class Person(models.Model):
    """Somebody, with the name they use; ``search`` and ``sort_key`` follow from the names.

    An entry that was ``merged_into`` another stays with its names, number and address, so that
    files still find the person by them; ``merge_batch`` names the merge in the audit.
    """

    legal_name = models.CharField(max_length=200)
    used_name = models.CharField("name used", max_length=200, blank=True)
    pronunciation = models.CharField(max_length=200, blank=True)
    pronouns = models.CharField(max_length=50, blank=True)
    email = models.EmailField(blank=True)
    student_number = models.CharField(max_length=40, blank=True)
    listed = models.BooleanField("may be named on public lists", default=True)
    share_contact = models.BooleanField("rank leader may see phone and email", default=True)
    user = models.OneToOneField(
        settings.AUTH_USER_MODEL, null=True, blank=True, on_delete=models.SET_NULL
    )
    merged_into = models.ForeignKey(
        "self", null=True, blank=True, on_delete=models.PROTECT, related_name="merged"
    )
    merge_batch = models.CharField(max_length=36, blank=True, default="", editable=False)
    erased_at = models.DateTimeField(null=True, blank=True, editable=False)
    search = models.CharField(max_length=500, editable=False)
    sort_key = models.CharField(max_length=250, editable=False, db_index=True)

    audit_said = {
        "merge people": "merged {row} into {merged_into}",
        "change member": "changed the details of {row}",
        "add member": "added {row}",
        "erase person": "erased a person",
    }

    class Meta:
        ordering = ["sort_key", "id"]
        constraints = [
            models.UniqueConstraint(
                fields=["student_number"],
                condition=~Q(student_number=""),
                name="student_number_once",
            ),
            models.CheckConstraint(
                condition=Q(merged_into__isnull=True) | ~Q(merged_into=F("id")),
                name="merged_into_another",
            ),
        ]

    def __str__(self) -> str:
        return self.name

    def save(self, *args: Any, **kwargs: Any) -> None:
        self.derive()
        super().save(*args, **kwargs)

    @property
    def name(self) -> str:
        """The name to call and print."""
        return self.used_name or self.legal_name

    def derive(self) -> None:
        """Bring the names and the search and sort columns into their stored form."""
        self.legal_name = clean_name(self.legal_name)
        self.used_name = clean_name(self.used_name)
        self.search = plain(f"{self.used_name} {self.legal_name} {self.student_number}")[:500]
        self.sort_key = sort_key(self.name)[:250]


class DifferentPeople(models.Model):
    """Staff's word that two entries that look alike are two people."""

    first = models.ForeignKey(Person, on_delete=models.CASCADE, related_name="+")
    second = models.ForeignKey(Person, on_delete=models.CASCADE, related_name="+")
    said_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, on_delete=models.SET_NULL, related_name="+"
    )

    audit_called = "two people told apart"
    audit_said = {
        "tell two people apart": "said that {first} and {second} are two people",
    }

    class Meta:
        verbose_name_plural = "different people"
        constraints = [
            models.UniqueConstraint(fields=["first", "second"], name="different_people_once"),
            models.CheckConstraint(
                condition=Q(first__lt=F("second")), name="different_people_in_order"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.first} and {self.second} are two people"


class Member(models.Model):
    """A person in the band this season.

    ``cleared`` and ``eligible`` say only yes, no or through which date, and who said so.
    """

    person = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="memberships")
    season = models.ForeignKey(Season, on_delete=models.PROTECT, related_name="members")
    years_marched = models.PositiveSmallIntegerField(default=0, validators=between(0, MOST_YEARS))
    status = models.CharField(
        max_length=10, choices=MemberStatus.choices, default=MemberStatus.ACTIVE
    )
    phone = models.CharField(max_length=40, blank=True)
    emergency_contact = models.CharField(max_length=200, blank=True)
    cleared = models.CharField(max_length=5, choices=Standing.choices, default=Standing.YES)
    cleared_until = models.DateField("cleared through", null=True, blank=True)
    cleared_by = models.CharField("who said so", max_length=100, blank=True)
    eligible = models.CharField(max_length=5, choices=Standing.choices, default=Standing.YES)
    eligible_until = models.DateField("eligible through", null=True, blank=True)
    parts = models.ManyToManyField(Part, through="Qualification", related_name="members")

    audit_said = {
        "add member": "added {person}",
        "change member": "changed the details of {person}",
        "change status": "set {person} to {status}",
        "release member": "released {person}",
        "let old contacts go": "removed contacts of seasons long over",
        "follow who stopped": "gave up the places of who stopped",
    }
    audit_private = ("emergency_contact", "cleared", "cleared_until", "eligible", "eligible_until")
    audit_noted = ("cleared_by",)
    audit_reads = ("person",)

    class Meta:
        ordering = ["person__sort_key", "id"]
        constraints = [
            models.UniqueConstraint(fields=["person", "season"], name="member_once_a_season"),
            models.CheckConstraint(
                condition=within("years_marched", 0, MOST_YEARS), name="years_marched_in_bounds"
            ),
            models.CheckConstraint(
                condition=Q(cleared__in=Standing.values) & Q(eligible__in=Standing.values),
                name="member_standing_known",
            ),
            models.CheckConstraint(
                condition=Q(status__in=MemberStatus.values), name="member_status_known"
            ),
            models.CheckConstraint(
                condition=~Q(cleared=Standing.UNTIL) | Q(cleared_until__isnull=False),
                name="cleared_through_a_date",
            ),
            models.CheckConstraint(
                condition=~Q(eligible=Standing.UNTIL) | Q(eligible_until__isnull=False),
                name="eligible_through_a_date",
            ),
        ]

    def __str__(self) -> str:
        return self.person.name

    @property
    def name(self) -> str:
        return self.person.name

    @property
    def cleared_words(self) -> str:
        """'yes', 'no', or 'through Oct 12, 2026', with 'over' when that day is past."""
        return self._words(self.cleared, self.cleared_until)

    @property
    def eligible_words(self) -> str:
        return self._words(self.eligible, self.eligible_until)

    def _words(self, value: str, until: datetime.date | None) -> str:
        if value != Standing.UNTIL or until is None:
            return value
        over = " (over: counts as no)" if until < self.season.today() else ""
        return f"through {day_words(until)}{over}"

    def may_march_on(self, day: datetime.date) -> bool:
        """Cleared and eligible on that day."""
        return self.is_cleared_on(day) and self.is_eligible_on(day)

    def is_cleared_on(self, day: datetime.date) -> bool:
        return _standing_on(self.cleared, self.cleared_until, day)

    def is_eligible_on(self, day: datetime.date) -> bool:
        return _standing_on(self.eligible, self.eligible_until, day)


def _standing_on(value: str, until: datetime.date | None, day: datetime.date) -> bool:
    if value == Standing.UNTIL:
        return until is not None and day <= until
    return value == Standing.YES


class Qualification(models.Model):
    """A part that a member may march: the main one, or one they double on."""

    member = models.ForeignKey(Member, on_delete=models.CASCADE, related_name="qualifications")
    part = models.ForeignKey(Part, on_delete=models.PROTECT, related_name="qualifications")
    main = models.BooleanField(default=False)
    own_instrument = models.BooleanField("plays their own instrument", default=False)

    audit_called = "part a member plays"
    audit_said = {
        "change parts": "changed the parts {member} plays",
    }

    class Meta:
        ordering = ["-main", "part__instrument__order", "part__order"]
        constraints = [
            models.UniqueConstraint(fields=["member", "part"], name="qualified_once"),
            models.UniqueConstraint(
                fields=["member"], condition=Q(main=True), name="one_main_part"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.part} ({'main' if self.main else 'doubles'})"
