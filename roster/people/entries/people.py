"""Whom a row of the import of members is about, and who may be there twice."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator
from typing import Any

from bandops.lib.accounts.models import clean_email
from bandops.lib.alike import AlikeIndex, Entry, Shared
from bandops.lib.imports.plan import Fault, Record
from bandops.lib.name_index import NameIndex
from bandops.lib.names import clean_name, plain
from bandops.lib.person_names import Likeness
from roster.people.entries.names import name_of, name_text
from roster.people.lookup import without_zeros
from roster.people.models import Person
from roster.people.services.alike import entries_of

BY_NAME = (Likeness.SAME, Likeness.TURNED)
OWN = ("legal_name", "used_name", "email", "student_number")


class PeopleIndex:
    """Everybody the band has had, by number, e-mail and name; entries that were merged into
    another stand for the other."""

    def __init__(self, people: Iterable[Person]) -> None:
        self.people = {person.pk: person for person in people}
        self.by_number: dict[str, Person] = {}
        self.by_email: dict[str, list[Person]] = defaultdict(list)
        self.names: NameIndex[int] = NameIndex()
        self.merged: dict[int, list[Person]] = defaultdict(list)
        for person in self.people.values():
            meant = self.people[person.merged_into_id or person.pk]
            if meant is not person:
                self.merged[meant.pk].append(person)
            if person.student_number:
                self.by_number[person.student_number] = meant
            if person.email and meant not in self.by_email[clean_email(person.email)]:
                self.by_email[clean_email(person.email)].append(meant)
            self.names.add(meant.pk, person.legal_name, person.used_name)
        self.without_zeros = without_zeros(self.by_number)
        self.alike = AlikeIndex(entries_of(self.people.values()))

    def find(self, record: Record) -> tuple[Person | None, str]:
        """By number, else e-mail, else a name that only one person has; and what is unclear."""
        number, email = record["student_number"], clean_email(record["email"])
        person = self.by_number.get(number) if number else None
        if person is None and email:
            same = [p for p in self.by_email.get(email, []) if not (number and p.student_number)]
            person = same[0] if len(same) == 1 else None
        if person is None and not number:
            like, keys = self.names.found(name_of(record))
            keys = keys if like in BY_NAME else []
            if len(keys) > 1:
                return None, f"{len(keys)} people have this name: add a student number."
            person = self.people[keys[0]] if keys else None
        return person, ""

    def settle(self, person: Person, record: Record, values: dict[str, Any]) -> None:
        """Leave what the row does not mean to change: what only repeats an entry that was merged,
        a legal name where the row gives the name used, and how capitals are spelled."""
        for merged in self.merged[person.pk]:
            for key in OWN:
                if values.get(key) and values[key] == getattr(merged, key):
                    values.pop(key)
        written, stored = values.get("legal_name", ""), person.legal_name
        by_name = not record["student_number"] and not record["email"]
        loud = name_text(record) == name_text(record).upper() and plain(written) == plain(stored)
        if (by_name and plain(written) != plain(stored)) or loud:
            values["legal_name"] = stored

    def may_be(self, record: Record) -> Iterator[Fault]:
        """A warning for each person who may be the one a new row adds once more."""
        for pk, shared in self.alike.like(_entry(record)).items():
            person = self.people[pk]
            person = self.people[person.merged_into_id or pk]
            if shared == [Shared.NAME] and plain(person.legal_name) == plain(name_text(record)):
                message = f"Another person called {person} is there: this adds a new one."
            else:
                message = (
                    f"{clean_name(name_text(record))} may be {person}, who is there already "
                    f"({', '.join(shared)}). This adds a new person. If it is the same one, give "
                    f"the row their {_known_by(person)}."
                )
            yield record.fault("legal_name", message)


def _known_by(person: Person) -> str:
    if person.student_number:
        return f"student number {person.student_number}"
    return f"email {person.email}" if person.email else f"name, {person.legal_name}"


def _entry(record: Record) -> Entry[int]:
    return Entry(
        -record.number,
        (clean_name(name_text(record)),),
        record["email"],
        record["student_number"],
        (record["phone"],),
    )


def twice_in_file(records: list[Record]) -> Iterator[Fault]:
    """A warning for each row that may be about the same person as another one."""
    entries = [_entry(record) for record in records if name_text(record)]
    index = AlikeIndex(entries)
    for record in records:
        if not name_text(record):
            continue
        by_rows: dict[tuple[Shared, ...], list[int]] = defaultdict(list)
        for key, shared in index.like(_entry(record)).items():
            by_rows[tuple(shared)].append(-key)
        for same, rows in by_rows.items():
            where = ", ".join(map(str, sorted(rows)))
            why = "" if same == (Shared.NAME,) else f" ({', '.join(same)})"
            yield record.fault(
                "legal_name",
                f"{clean_name(name_text(record))} is also in row {where}{why}: two people, or "
                "one twice?",
            )
