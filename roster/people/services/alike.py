"""Entries of people that may be one person twice, and staff's word that they are two."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from bandops.lib.alike import Entry
from roster.people.models import Person


def entries_of(people: Iterable[Person]) -> Iterator[Entry[int]]:
    """What tells people apart; expects their memberships read along."""
    for person in people:
        names = tuple(filter(None, (person.legal_name, person.used_name)))
        phones = tuple(member.phone for member in person.memberships.all() if member.phone)
        yield Entry(person.pk, names, person.email, person.student_number, phones)
