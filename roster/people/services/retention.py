"""What is kept how long, and who it is time to let go."""

from __future__ import annotations

import datetime
from dataclasses import dataclass

from django.db.models import Max, Q, QuerySet

from bandops.lib.accounts.models import User
from bandops.lib.audit.models import AuditEntry
from bandops.lib.audit.recording import recorded, unlocked
from roster.people.models import Member, Person
from roster.people.services.erasing import GONE, erase_person, hindrance

CONTACT_DAYS = 365
"""phone and emergency contact are kept for so long after their season's end"""
PERSON_YEARS = 7
"""names are kept for so long after somebody's last season"""
CONTACTS = ("phone", "emergency_contact")


@dataclass(frozen=True)
class Due:
    """What is kept longer than the rules say."""

    contacts: QuerySet[Member]
    people: list[Person]


def due(today: datetime.date, years: int = PERSON_YEARS) -> Due:
    """Members whose contacts, and persons whose names, are to go."""
    ended = today - datetime.timedelta(days=CONTACT_DAYS)
    contacts = Member.objects.filter(season__ends__lt=ended, season__is_current=False)
    contacts = contacts.filter(~Q(phone="") | ~Q(emergency_contact=""))
    last = today - datetime.timedelta(days=round(365.25 * years))
    people = Person.objects.filter(erased_at=None, merged_into=None)
    people = people.annotate(last=Max("memberships__season__ends")).filter(last__lt=last)
    return Due(contacts, [person for person in people if not hindrance(person)])


def let_go(*, actor: User | None, today: datetime.date, years: int = PERSON_YEARS) -> Due:
    """Do what is due; what it was."""
    found = due(today, years)
    done = Due(
        Member.objects.filter(pk__in=list(found.contacts.values_list("pk", flat=True))),
        found.people,
    )
    with recorded(actor, "let old contacts go"), unlocked():
        _blank_contacts(list(found.contacts))
    for person in found.people:
        erase_person(actor=actor, person=person)
    return done


def _blank_contacts(members: list[Member]) -> None:
    """From the rows and from what the audit says of them."""
    table = Member._meta.db_table
    for member in members:
        Member.objects.filter(pk=member.pk).update(**dict.fromkeys(CONTACTS, ""))
        for entry in AuditEntry.objects.filter(table=table, row_id=str(member.pk)):
            for side in (entry.before, entry.after):
                for column in CONTACTS:
                    if side and side.get(column):
                        side[column] = GONE
            entry.save()
