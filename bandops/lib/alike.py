"""Entries that may be one person twice: what they share that two people seldom do."""

from __future__ import annotations

import re
from collections import defaultdict
from collections.abc import Hashable, Iterable, Iterator
from dataclasses import dataclass
from enum import StrEnum
from typing import Generic, TypeVar

from rapidfuzz import process
from rapidfuzz.distance import DamerauLevenshtein

from bandops.lib.name_index import NameIndex
from bandops.lib.names import plain
from bandops.lib.person_names import Likeness, read_name

Key = TypeVar("Key", bound=Hashable)
EXTENSION = re.compile(r"(?i)(ext|x|#).*")
DIGITS_OF_A_PHONE, LEAST_DIGITS = 10, 7
LETTERS_OF_A_SLIP = 8
"""letters from which on one letter more, less or other is a slip and no other name"""


class Shared(StrEnum):
    """What two entries share, in words."""

    NAME = "same name"
    NUMBER = "same student number but for zeros in front"
    EMAIL = "same email"
    PHONE = "same phone"
    NEAR = "nearly the same name"


BY_CHANCE = frozenset([Shared.PHONE, Shared.NEAR])
"""what siblings share, or namesakes of a kind: it says nothing against two student numbers"""


@dataclass(frozen=True, slots=True)
class Entry(Generic[Key]):
    """Somebody as an entry or a file's row tells of them."""

    key: Key
    names: tuple[str, ...]
    email: str = ""
    number: str = ""
    phones: tuple[str, ...] = ()


def bare_number(number: str) -> str:
    """A student number as a spreadsheet leaves it: without zeros in front, blanks and case."""
    return "".join(number.split()).casefold().lstrip("0")


def bare_phone(phone: str) -> str:
    """The digits of a phone number without country and extension; empty for less than a number."""
    digits = re.sub(r"\D", "", EXTENSION.sub("", phone))
    return digits[-DIGITS_OF_A_PHONE:] if len(digits) >= LEAST_DIGITS else ""


class AlikeIndex(Generic[Key]):
    """Entries by all that tells people apart."""

    def __init__(self, entries: Iterable[Entry[Key]]) -> None:
        self.entries = {entry.key: entry for entry in entries}
        self._same: dict[tuple[Shared, str], list[Key]] = defaultdict(list)
        self._names: NameIndex[Key] = NameIndex()
        self._spelled: list[str] = []
        self._spelled_by: list[Key] = []
        for entry in self.entries.values():
            for mark in _marks(entry):
                self._same[mark].append(entry.key)
            self._names.add(entry.key, *entry.names)
            for text in _spelled(entry):
                self._spelled.append(text)
                self._spelled_by.append(entry.key)

    def like(self, entry: Entry[Key]) -> dict[Key, list[Shared]]:
        """Who else may be the same person, and by what; those who share most come first."""
        found: dict[Key, set[Shared]] = defaultdict(set)
        marked = [(key, mark[0]) for mark in _marks(entry) for key in self._same[mark]]
        for key, shared in (*marked, *self._by_name(entry)):
            if shared not in BY_CHANCE or _may_be_one(entry, self.entries[key]):
                found[key].add(shared)
        found.pop(entry.key, None)
        ordered = sorted(found.items(), key=lambda item: -len(item[1]))
        return {key: sorted(shared, key=list(Shared).index) for key, shared in ordered}

    def _by_name(self, entry: Entry[Key]) -> Iterator[tuple[Key, Shared]]:
        same: set[Key] = set()
        for text in entry.names:
            for like, keys in self._names.all_found(read_name(text)):
                for key in keys:
                    same.add(key)
                    yield key, Shared.NAME if like is Likeness.SAME else Shared.NEAR
        for text in _spelled(entry):
            hits = process.extract(
                text,
                self._spelled,
                scorer=DamerauLevenshtein.distance,
                score_cutoff=1,
                limit=None,
            )
            for _, _, place in hits:
                if (key := self._spelled_by[place]) not in same:
                    yield key, Shared.NEAR


def _may_be_one(one: Entry[Key], other: Entry[Key]) -> bool:
    """Two numbers of their own mean two people."""
    return len({bare_number(one.number), bare_number(other.number)} - {""}) < 2


def _marks(entry: Entry[Key]) -> Iterator[tuple[Shared, str]]:
    """What must not stand in two people's entries, as it is compared."""
    if email := entry.email.strip().casefold():
        yield Shared.EMAIL, email
    if number := bare_number(entry.number):
        yield Shared.NUMBER, number
    yield from ((Shared.PHONE, digits) for p in set(entry.phones) if (digits := bare_phone(p)))


def _spelled(entry: Entry[Key]) -> set[str]:
    """The names that are long enough for a slip of the finger."""
    texts = {plain(read_name(name).called) for name in entry.names}
    return {text for text in texts if len(text) >= LETTERS_OF_A_SLIP}
