"""Finding members and parts by what a file calls them."""

from __future__ import annotations

import difflib
from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from types import MappingProxyType

from bandops.lib.accounts.models import clean_email
from bandops.lib.imports.words import Choice, UnknownWord
from bandops.lib.name_index import NameIndex
from bandops.lib.names import plain
from bandops.lib.person_names import Likeness, read_name
from roster.people import queries
from roster.people.models import Member, Part, Person, Season
from roster.people.part_names import meaning
from roster.people.wording import member_label

NOTHING_KNOWN: Mapping[str, str] = MappingProxyType({})
CERTAIN = (Likeness.SAME, Likeness.TURNED, Likeness.SHORTER)


class MemberIndex:
    """The season's members by student number, e-mail and name, in whatever order and dress.

    ``known`` says what words mean that staff have settled: the plain text, and the number of the
    member's row (the ``value`` of the choices that an unknown word offers).
    """

    def __init__(self, season: Season, known: Mapping[str, str] = NOTHING_KNOWN) -> None:
        self.members = list(queries.present(season).order_by("pk"))
        self.by_pk = {str(member.pk): member for member in self.members}
        self.by_number: dict[str, Member] = {}
        self.by_email: dict[str, Member] = {}
        self.names: NameIndex[str] = NameIndex()
        self.known = known
        others = Person.objects.filter(merged_into__memberships__season=season)
        mine = {member.person_id: member for member in self.members}
        for person in [m.person for m in self.members] + list(others):
            self._add(mine[person.merged_into_id or person.pk], person)

    def _add(self, member: Member, person: Person) -> None:
        if person.student_number:
            self.by_number[person.student_number] = member
        if person.email:
            self.by_email[clean_email(person.email)] = member
        self.names.add(str(member.pk), person.legal_name, person.used_name)

    def find(self, text: str) -> Member:
        """The member; UnknownWord, with whoever may be meant, when it is not certain who."""
        found = (
            self.by_pk.get(self.known.get(plain(text), ""))
            or self.by_number.get(text)
            or self.by_email.get(clean_email(text))
        )
        if found is not None:
            return found
        name = read_name(text)
        like, keys = self.names.found(name)
        if like in CERTAIN and len(keys) == 1:
            return self.by_pk[keys[0]]
        if len(keys) > 1:
            message = f"{len(keys)} members are called {text}: give the student number."
            raise self._unknown(text, message, keys)
        number = without_zeros(self.by_number).get(text.lstrip("0")) if text.isdecimal() else None
        if number:
            hint = f"There is {number}: did a spreadsheet drop its zeros?"
            raise self._unknown(text, f"{_nobody(text)} {hint}", [str(self.by_number[number].pk)])
        near = self.names.near(name)
        also = " or ".join(self.by_pk[key].name for key in near)
        hint = f" Did you mean {also}?" if also else ""
        raise self._unknown(text, f"{_nobody(text)}{hint}", near)

    def _unknown(self, text: str, message: str, keys: Sequence[str]) -> UnknownWord:
        choices = [Choice(key, member_label(self.by_pk[key])) for key in keys]
        return UnknownWord("member", text, message, choices)


def _nobody(text: str) -> str:
    return f"No member “{text}” this season."


def without_zeros(numbers: Iterable[str]) -> dict[str, str]:
    """Numbers by what a spreadsheet leaves of them: 4417 of 004417."""
    return {number.lstrip("0"): number for number in numbers if number.isdecimal()}


class PartIndex:
    """The season's parts by code and name."""

    def __init__(self, season: Season) -> None:
        self.parts = list(Part.objects.filter(season=season).select_related("instrument"))
        self.by_code = {plain(part.code): part for part in self.parts}
        self.by_name: dict[str, list[Part]] = defaultdict(list)
        for part in self.parts:
            self.by_name[plain(part.name)].append(part)
        self.by_meaning: dict[frozenset[str], list[Part]] = defaultdict(list)
        for part in self.parts:
            for meant in {meaning(part.name), meaning(part.code)}:
                self.by_meaning[meant].append(part)

    def find(self, text: str) -> Part:
        """The part; ValueError when there is none or more than one of the name."""
        name = plain(text)
        named = [self.by_code[name]] if name in self.by_code else self.by_name.get(name, [])
        if len(named) > 1:
            codes = ", ".join(part.code for part in named)
            raise ValueError(f"{len(named)} parts are called {text}: give a code ({codes}).")
        if not named:
            named = self.by_meaning.get(meaning(text), [])
        if len(named) != 1:
            raise ValueError(f"No part “{text}”.{self._near(text)}")
        return named[0]

    def _near(self, text: str) -> str:
        """Parts that may be meant, or where to add one."""
        words = meaning(text)
        near = [p.name for p in self.parts if words & meaning(p.name)]
        near += difflib.get_close_matches(text, [p.name for p in self.parts], n=3, cutoff=0.7)
        if near:
            return f" Did you mean {' or '.join(dict.fromkeys(near[:4]))}?"
        return " Add it under Instruments and parts first."
