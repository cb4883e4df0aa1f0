"""Finding members and parts by what a file calls them."""

from __future__ import annotations

import difflib
from collections import defaultdict
from collections.abc import Iterable

from bandops.lib.names import plain
from roster.people.models import Member, Part, Season
from roster.people.part_names import meaning


class MemberIndex:
    """The season's members by student number, e-mail and name."""

    def __init__(self, season: Season) -> None:
        self.members = list(
            Member.objects.filter(season=season).select_related("person").order_by("pk")
        )
        self.by_number: dict[str, Member] = {}
        self.by_email: dict[str, Member] = {}
        self.by_name: dict[str, list[Member]] = defaultdict(list)
        for member in self.members:
            person = member.person
            if person.student_number:
                self.by_number[person.student_number] = member
            if person.email:
                self.by_email[person.email.lower()] = member
            for name in {plain(person.used_name), plain(person.legal_name)} - {""}:
                self.by_name[name].append(member)

    def find(self, text: str) -> Member:
        """The member; ValueError when there is none or more than one of the name."""
        found = self.by_number.get(text) or self.by_email.get(text.lower())
        if found is not None:
            return found
        named = self.by_name.get(plain(text), [])
        if len(named) > 1:
            raise ValueError(f"{len(named)} members are called {text}: give the student number.")
        if not named:
            raise ValueError(f"No member “{text}” this season.{self._hint(text)}")
        return named[0]

    def _hint(self, text: str) -> str:
        same = without_zeros(self.by_number).get(text.lstrip("0"))
        return f" There is {same}: did a spreadsheet drop its zeros?" if same else ""


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
