"""Finding people by the names that files and pages give them.

One person is certain where exactly one has the name under the surest rule that anybody meets;
whoever else may be meant is offered, the likeliest first.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import Generic, TypeVar

from rapidfuzz import fuzz, process

from bandops.lib.names import plain
from bandops.lib.person_names import Likeness, PersonName, initial_fits, likeness, read_name

Key = TypeVar("Key")
NEAR = 78
"""per cent of letters that a name worth offering shares"""
MOST_OFFERED = 5


@dataclass(frozen=True, slots=True)
class _Entry(Generic[Key]):
    key: Key
    names: tuple[PersonName, ...]


class NameIndex(Generic[Key]):
    """People by their names; a person may have several."""

    def __init__(self) -> None:
        self._entries: list[_Entry[Key]] = []
        self._by_word: dict[str, list[int]] = defaultdict(list)
        self._spelled: list[str] = []

    def add(self, key: Key, *texts: str) -> None:
        """A person with the names they go by."""
        names = tuple(form for text in texts if plain(text) for form in forms(read_name(text)))
        place = len(self._entries)
        self._entries.append(_Entry(key, names))
        self._spelled.append(" ".join(sorted({word for name in names for word in name.words})))
        for word in {word for name in names for word in name.words}:
            self._by_word[word].append(place)

    def found(self, name: PersonName) -> tuple[Likeness, list[Key]]:
        """Who has the name under the surest rule that anybody meets, and which that is."""
        return next(iter(self.all_found(name)), (Likeness.NONE, []))

    def all_found(self, name: PersonName) -> list[tuple[Likeness, list[Key]]]:
        """Who has the name under each rule, the surest rule first."""
        wanted = forms(name)
        found: dict[Likeness, dict[Key, None]] = defaultdict(dict)
        for entry in self._sharing(wanted):
            like = min(likeness(one, other) for one in wanted for other in entry.names)
            if like < Likeness.NONE:
                found[like][entry.key] = None
        return [(like, list(found[like])) for like in sorted(found)]

    def near(self, name: PersonName) -> list[Key]:
        """Who may be meant, the likeliest first."""
        _, keys = self.found(name)
        wanted = forms(name)
        keys += [
            entry.key
            for entry in self._sharing(wanted)
            if any(_may_be(one, other) for one in wanted for other in entry.names)
        ]
        for one in wanted:
            text = " ".join(sorted(one.words))
            hits = process.extract(
                text, self._spelled, scorer=fuzz.token_sort_ratio, score_cutoff=NEAR
            )
            keys += [self._entries[place].key for _, _, place in hits]
            keys += self._near_by_word((one.family or one.given).split()[-1:])
        return list(dict.fromkeys(keys))[:MOST_OFFERED]

    def short_for(self, name: PersonName) -> list[Key]:
        """Whose name is longer than this: an initial for the first name, or only one name."""
        wanted = forms(name)
        return [
            entry.key
            for entry in self._sharing(wanted)
            if any(_is_shorter(one, other) for one in wanted for other in entry.names)
        ]

    def _near_by_word(self, words: list[str]) -> list[Key]:
        """Whoever has a word that a slip makes of the (last) word of a family name."""
        found = [
            place
            for word in words
            for near, _, _ in process.extract(
                plain(word), list(self._by_word), scorer=fuzz.ratio, score_cutoff=NEAR
            )
            for place in self._by_word[near]
        ]
        return [self._entries[place].key for place in found]

    def _sharing(self, names: tuple[PersonName, ...]) -> Iterator[_Entry[Key]]:
        """Whoever has a word of the names."""
        words = {word for name in names for word in name.words}
        places = {place for word in words for place in self._by_word.get(word, ())}
        yield from (self._entries[place] for place in sorted(places))


def _may_be(one: PersonName, other: PersonName) -> bool:
    """An initial for the first name, or one name with words that the other leaves out."""
    words, others = set(one.words), set(other.words)
    return initial_fits(one, other) or words <= others or others <= words


def _is_shorter(one: PersonName, other: PersonName) -> bool:
    return initial_fits(one, other) or set(one.words) < set(other.words)


def forms(name: PersonName) -> tuple[PersonName, ...]:
    """The name as it is written, and with the nickname in the first name's place."""
    written = replace(name, nickname="")
    if not name.nickname:
        return (written,)
    return (written, replace(written, given=name.nickname))
