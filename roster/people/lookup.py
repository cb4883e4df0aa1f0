"""Finding members and parts by what a file calls them."""

from __future__ import annotations

import re
from collections import defaultdict
from collections.abc import Iterable, Sequence
from functools import cached_property

from rapidfuzz import fuzz

from bandops.lib.accounts.models import clean_email
from bandops.lib.imports.abbreviated import SHORTEST, is_short_for
from bandops.lib.imports.words import NONE_KNOWN, Choice, Known, UnknownWord, word_key
from bandops.lib.name_index import NameIndex
from bandops.lib.names import plain
from bandops.lib.person_names import Likeness, read_name
from roster.people import queries
from roster.people.models import Member, Part, Person, Season
from roster.people.part_names import INSTRUMENTS, WORDS, likely_meaning, meaning, spelled_out
from roster.people.wording import member_label

CERTAIN = (Likeness.SAME, Likeness.TURNED, Likeness.SHORTER)
PART_HEADS = ("instrument", "horn", "instr", "inst", "instrument part", "part name", "voice")
"""what a column of parts is called beside its own name"""
ALIKE = 70
"""likeness of two names, in percent, from which one may be a slip for the other"""
MARK = re.compile(
    r"\s*[(\[]\s*((?:RL|AL|ARL|SL)|(?i:alt(?:ernate)?\.?\s*\d*|(?:rank|section) leader))\s*[)\]]\s*"
)
"""a role or place beside a name, which is no nickname"""
MOST_NEAR = 6
"""parts that are offered first"""


class MemberIndex:
    """The season's members by student number, e-mail and name, in whatever order and dress.

    ``known`` says what words mean that staff have settled: the word's key, and the number of the
    member's row (the ``value`` of the choices that an unknown word offers).
    """

    def __init__(self, season: Season, known: Known = NONE_KNOWN) -> None:
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
            self.by_pk.get(self.known.get(word_key(text), ""))
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
        short = self.names.short_for(name)
        preset = short[0] if len(short) == 1 and len(plain(text)) >= SHORTEST else ""
        raise self._unknown(text, f"{_nobody(text)}{hint}", near, preset)

    def _unknown(
        self, text: str, message: str, keys: Sequence[str], preset: str = ""
    ) -> UnknownWord:
        choices = [Choice(key, member_label(self.by_pk[key])) for key in keys]
        return UnknownWord("member", text, message, choices, preset)


def _nobody(text: str) -> str:
    return f"No member “{text}” this season."


def without_zeros(numbers: Iterable[str]) -> dict[str, str]:
    """Numbers by what a spreadsheet leaves of them: 4417 of 004417."""
    return {number.lstrip("0"): number for number in numbers if number.isdecimal()}


def split_mark(name: str) -> tuple[str, str]:
    """A name and the mark of a role or place beside it: 'Jon Pell (RL)' is Jon Pell and RL."""
    match = MARK.search(name)
    if match is None:
        return name, ""
    return f"{name[: match.start()]} {name[match.end() :]}".strip(), match[1]


def looks_like_part(text: str) -> bool:
    """A word of an instrument, whole or short, and little beside it."""
    words = set(plain(text).split())
    return len(words) <= 4 and bool(words & (INSTRUMENTS | WORDS.keys()))


def part_choice(part: Part) -> Choice:
    """A part as what a word may mean."""
    same = plain(part.name) == plain(part.instrument.name)
    return Choice(part.code, part.name if same else f"{part.name} ({part.instrument.name})")


class PartIndex:
    """The season's parts by code and name, and by the known words for them."""

    def __init__(self, season: Season, known: Known = NONE_KNOWN) -> None:
        self.season, self.known = season, known
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
        """The part; UnknownWord when there is none or more than one of the name."""
        kept = self.by_code.get(plain(self.known.get(word_key(text), "")))
        if kept is not None:
            return kept
        name = plain(text)
        named = [self.by_code[name]] if name in self.by_code else self.by_name.get(name, [])
        if len(named) > 1:
            codes = ", ".join(part.code for part in named)
            message = f"{len(named)} parts are called {text}: give a code ({codes})."
            raise UnknownWord("part", text, message, [part_choice(part) for part in named])
        if not named:
            named = self.by_meaning.get(meaning(text), [])
        if len(named) != 1:
            near = self.near(text)
            choices = [part_choice(part) for part in near]
            message = f"No part “{text}”.{_hint(near)}"
            adds = self._unnumbered(text) if near else spelled_out(text)
            raise UnknownWord("part", text, message, choices, self._only(text), adds)
        return named[0]

    def named(self, text: str) -> list[Part]:
        """All parts that a text names, and all of an instrument that it names."""
        meant = meaning(text)
        return [
            part
            for part in self.parts
            if meant in (meaning(part.name), meaning(part.code), meaning(part.instrument.name))
        ]

    def _only(self, text: str) -> str:
        """The code of the one part that a text is short for: its name as it begins, or an
        instrument that has one part; empty where none or several are."""
        short = [p for p in self.parts if is_short_for(text, p.name)]
        found = short or self._of_instrument(text)
        return found[0].code if len(found) == 1 else ""

    def _unnumbered(self, text: str) -> str:
        """The name of an instrument that a file does not number, of which nobody uses the
        numbered parts; else empty."""
        parts = self._of_instrument(text)
        if not parts or self._used & {p.pk for p in parts}:
            return ""
        return parts[0].instrument.name

    @cached_property
    def _used(self) -> set[int]:
        return queries.used_parts(self.season)

    def _of_instrument(self, text: str) -> list[Part]:
        meant = meaning(text)
        return [p for p in self.parts if meaning(p.instrument.name) == meant]

    def near(self, text: str) -> list[Part]:
        """Parts that may be meant, the likeliest first."""
        words, name = likely_meaning(text), plain(text)
        found = []
        for part in self.parts:
            meant = meaning(part.name)
            shared, alike = words & meant, fuzz.ratio(name, plain(part.name))
            if shared or alike >= ALIKE:
                found.append((len(shared) / len(words | meant), alike, part))
        return [p for _, _, p in sorted(found, key=lambda f: (-f[0], -f[1]))][:MOST_NEAR]


def _hint(near: list[Part]) -> str:
    """Parts that may be meant, or where to add one."""
    if near:
        return f" Did you mean {' or '.join(dict.fromkeys(p.name for p in near))}?"
    return " Add it as a new part, or say what it means."
