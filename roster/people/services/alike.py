"""Entries of people that may be one person twice, and staff's word that they are two."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from bandops.lib.accounts.models import User
from bandops.lib.alike import AlikeIndex, Entry, Shared
from bandops.lib.audit.recording import recorded
from roster.people.models import DifferentPeople, Member, Person, Season


@dataclass(frozen=True)
class Pair:
    """Two entries that may be one person, and what they share; the older entry comes first."""

    first: Person
    second: Person
    shared: tuple[Shared, ...]


def entries_of(people: Iterable[Person]) -> Iterator[Entry[int]]:
    """What tells people apart; expects their memberships read along."""
    for person in people:
        names = tuple(filter(None, (person.legal_name, person.used_name)))
        phones = tuple(member.phone for member in person.memberships.all() if member.phone)
        yield Entry(person.pk, names, person.email, person.student_number, phones)


def alike_to(person: Person, phone: str = "") -> list[tuple[Person, list[Shared]]]:
    """Who is there already and may be this person, who is not saved yet."""
    people = {p.pk: p for p in Person.objects.prefetch_related("memberships")}
    names = tuple(filter(None, (person.legal_name, person.used_name)))
    entry = Entry(0, names, person.email, person.student_number, (phone,))
    found = AlikeIndex(entries_of(people.values())).like(entry)
    return [(people[people[pk].merged_into_id or pk], shared) for pk, shared in found.items()]


def pairs(season: Season) -> list[Pair]:
    """People of the season who may be there twice, those who share most first; without those whom
    staff know to be two. A fixed number of queries."""
    unmerged = Person.objects.filter(merged_into__isnull=True).prefetch_related("memberships")
    people = {person.pk: person for person in unmerged}
    index = AlikeIndex(entries_of(people.values()))
    known = set(DifferentPeople.objects.values_list("first_id", "second_id"))
    found: dict[tuple[int, int], list[Shared]] = {}
    mine = Member.objects.filter(season=season, person__merged_into__isnull=True)
    for pk in mine.values_list("person_id", flat=True):
        for other, shared in index.like(index.entries[pk]).items():
            two = (min(pk, other), max(pk, other))
            if two not in known:
                found[two] = shared
    made = [Pair(people[one], people[two], tuple(s)) for (one, two), s in found.items()]
    return sorted(made, key=lambda pair: (-len(pair.shared), pair.first.sort_key))


def say_different(*, actor: User, one: Person, other: Person) -> None:
    """Two entries that look alike are two people: they are not offered again."""
    first, second = sorted((one.pk, other.pk))
    with recorded(actor, "tell two people apart"):
        DifferentPeople.objects.get_or_create(
            first_id=first, second_id=second, defaults={"said_by": actor}
        )
