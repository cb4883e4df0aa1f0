"""Words of a file that nobody here knows, each a choice for the person who reviews it.

What they chose is kept for the season. Lookups are handed the known words of their kind, look
there first, and raise :class:`UnknownWord` for what they do not know for certain.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

from rapidfuzz import fuzz, process

from bandops.lib.imports.abbreviated import only_meant
from bandops.lib.names import plain
from bandops.lib.ties import Tie

Known = Mapping[str, str]
"""known words of one kind: the plain text of a word -> the value it stands for"""
NONE_KNOWN: Known = {}
LIKE_ENOUGH = 60
"""likeness, in percent, from which a value of a vocabulary is offered first"""
LONGEST_WORD = 100
"""letters of a word that can be kept"""


@dataclass(frozen=True, slots=True)
class Choice:
    """What an unknown word may mean: the value that is kept, and how a page calls it."""

    value: str
    label: str


class UnknownWord(ValueError):
    """A word of a kind ("part", "member", "spot", "status") that names nothing for certain.

    ``choices`` are what it may mean, the likeliest first; none where anything is possible.
    ``preset`` is the value it is read as until somebody says otherwise, where only one fits;
    ``adds`` is the name of what it certainly names and nobody has added yet.
    """

    def __init__(
        self,
        kind: str,
        text: str,
        message: str,
        choices: Sequence[Choice] = (),
        preset: str = "",
        adds: str = "",
    ) -> None:
        super().__init__(message)
        self.kind, self.text, self.choices = kind, text, tuple(choices)
        self.preset, self.adds = preset, adds


def word_key(text: str) -> str:
    """What a word is known by: without marks, case and punctuation, if anything is left."""
    return plain(text) or text.strip().casefold()


@dataclass(frozen=True)
class Words:
    """What the words of files mean this season, by kind."""

    known: Mapping[str, Known] = field(default_factory=dict)

    def of(self, kind: str) -> Known:
        """The known words of a kind, as its lookup takes them."""
        return self.known.get(kind, NONE_KNOWN)

    def with_answers(self, answers: Iterable[Answer]) -> Words:
        """These words, and what somebody says others mean."""
        known = {kind: dict(words) for kind, words in self.known.items()}
        for answer in answers:
            known.setdefault(answer.kind, {})[word_key(answer.text)] = answer.value
        return Words(known)

    def among(self, texts: Iterable[str]) -> list[tuple[str, str, str]]:
        """(kind, word, value) of the known words that some texts name."""
        keys = {word_key(text) for text in texts}
        return sorted(
            (kind, key, value)
            for kind, words in self.known.items()
            for key, value in words.items()
            if key in keys
        )


NO_WORDS = Words()


@dataclass(frozen=True)
class WordKind:
    """A kind of word: what a page calls it, and every value it may stand for in a season.

    ``add`` makes what a word names, where that can be done on the spot, and gives its value.
    Words that were read without asking are only kept where nobody new may be meant ``later``.
    """

    key: str
    title: str
    choices: Callable[[Any], Sequence[Choice]]
    add: Callable[[Any, Any, str], str] | None = None
    later: bool = False


_kinds: dict[str, WordKind] = {}


def register_words(kind: WordKind) -> WordKind:
    """Make a kind of word known to the review and to the page of words."""
    _kinds[kind.key] = kind
    return kind


def word_kind(key: str) -> WordKind:
    """The kind; for one that nobody registered, one without values of its own."""
    return _kinds.get(key) or WordKind(key, key, lambda season: ())


@dataclass(frozen=True)
class Vocabulary:
    """A few fixed values, each with its label, and other words that certainly mean one.

    What ``likely`` says is read so, and shown to whoever reviews the file.
    """

    kind: str
    title: str
    labels: Mapping[str, str]
    also: Mapping[str, str] = field(default_factory=dict)
    likely: Mapping[str, str] = field(default_factory=dict)

    @property
    def choices(self) -> list[Choice]:
        return [Choice(value, label) for value, label in self.labels.items()]

    def find(self, text: str, known: Known, message: str) -> str:
        """The value; UnknownWord with the message where the text is none for certain."""
        key = word_key(text)
        if known.get(key) in self.labels:
            return known[key]
        own = {word_key(name): v for v, label in self.labels.items() for name in (label, v)}
        value = own.get(key, self.also.get(key))
        if value is None:
            likely = nearest(text, self.choices, 3, least=LIKE_ENOUGH)
            raise UnknownWord(self.kind, text, message, likely, self._preset(text))
        return value

    def _preset(self, text: str) -> str:
        """The one value that a text is likely, or short for; empty where there is none."""
        at = only_meant(text, list(self.labels.values()))
        return self.likely.get(word_key(text), "" if at is None else list(self.labels)[at])

    def register(self) -> Vocabulary:
        """Have the review offer these values; returns itself."""
        register_words(WordKind(self.kind, self.title, lambda season: self.choices))
        return self


def nearest(text: str, choices: Sequence[Choice], most: int, least: int = 0) -> list[Choice]:
    """The choices whose labels are most like a text, by ``least`` percent, the likest first."""
    labels = [choice.label for choice in choices]
    found = process.extract(
        text, labels, scorer=fuzz.WRatio, processor=plain, limit=most, score_cutoff=least
    )
    return [choices[at] for _, _, at in found]


@dataclass(frozen=True, slots=True)
class Answer:
    """What a person says a word means."""

    kind: str
    text: str
    value: str
    label: str


@dataclass(frozen=True, slots=True)
class Kept:
    """A word that is kept for the season, as its page shows it."""

    kind: str
    text: str
    value: str
    label: str


KEPT: Tie[[Any], list[Kept]] = Tie()
"""the words that are kept for a season"""
KEEP: Tie[[Any, Any, Sequence[Answer]], None] = Tie()
"""keeps what an account answers for a season; an answer for the same word goes"""
FORGET: Tie[[Any, Any, str, str], None] = Tie()
"""an account has a season forget a word of a kind"""


def kept_for(season: Any) -> list[Kept]:
    """All words that are kept for a season."""
    return [word for words in KEPT.ask(season) for word in words]


def words_of(season: Any) -> Words:
    """The known words of a season."""
    known: dict[str, dict[str, str]] = {}
    for kept in kept_for(season):
        known.setdefault(kept.kind, {})[word_key(kept.text)] = kept.value
    return Words(known)
