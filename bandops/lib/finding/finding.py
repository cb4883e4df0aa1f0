"""Finds things by what somebody types: without marks and case, and in spite of a slip.

Every word typed must fit a word of the thing: be it, begin it, or be a slip away from it; where
nothing does, a name is tried without its nickname, initials and suffix. A slip
is a letter too many, too few, wrong, or two exchanged: one in words of four to six letters, two
in longer ones. Numbers must be right; zeros in front of them do not count.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from enum import IntEnum
from functools import lru_cache

from rapidfuzz.distance import DamerauLevenshtein

from bandops.lib.names import label_words, plain
from bandops.lib.person_names import telling_words

MOST_TYPED = 100
MOST_SHOWN = 30
DIGITS_OF_A_PREFIX = 4
LETTERS_OF_ONE_SLIP, LETTERS_OF_TWO = 4, 7


class Fit(IntEnum):
    """How well a word fits, best first."""

    EXACT = 0
    PREFIX = 1
    SLIP = 2


@dataclass(frozen=True)
class Entry:
    """Something to find: what it is called, more words to find it by, and its page if any.

    A label that is a ``code``, such as 4-11 or A1, is found as a whole only: 4-11, 4 11 or 411;
    A1, a-1 or A 1.
    """

    kind: str
    label: str
    key: int
    words: str = ""
    note: str = ""
    page: str = ""
    page_of: int | None = None
    code: bool = False


@dataclass(frozen=True)
class Hit:
    """Something found; ``close`` when only a slip away."""

    entry: Entry
    score: int
    close: bool


@dataclass(frozen=True)
class Group:
    """What was found of one kind: how many, and those among the best."""

    kind: str
    count: int
    hits: tuple[Hit, ...]


@dataclass(frozen=True)
class Found:
    """The best of all that was found, by kind."""

    groups: tuple[Group, ...] = ()
    total: int = 0
    shown: int = 0
    only_close: bool = False


def find(text: str, entries: Iterable[Entry], kinds: Sequence[str]) -> Found:
    """What fits the text: best first, then in the order of the kinds, then by label."""
    typed = words_of(text[:MOST_TYPED])
    if not typed:
        return Found()
    there = list(entries)
    hits = _hits(typed, there)
    telling = telling_words(text[:MOST_TYPED])
    if not hits and telling and telling != typed:
        hits = _hits(telling, there)
    place = {kind: number for number, kind in enumerate(kinds)}
    hits.sort(key=lambda h: (h.score, place[h.entry.kind], plain(h.entry.label), h.entry.key))
    counts = Counter(hit.entry.kind for hit in hits)
    best = hits[:MOST_SHOWN]
    groups = tuple(
        Group(kind, counts[kind], tuple(h for h in best if h.entry.kind == kind))
        for kind in kinds
        if counts[kind]
    )
    return Found(groups, len(hits), len(best), bool(hits) and all(h.close for h in hits))


def _hits(typed: tuple[str, ...], entries: list[Entry]) -> list[Hit]:
    known: dict[tuple[str, str], Fit | None] = {}
    return [hit for entry in entries if (hit := _hit(typed, entry, known)) is not None]


@lru_cache(maxsize=16384)
def words_of(text: str) -> tuple[str, ...]:
    """The words of a text as they are compared."""
    return tuple(plain(text).split())


def _hit(
    typed: tuple[str, ...], entry: Entry, known: dict[tuple[str, str], Fit | None]
) -> Hit | None:
    """The entry if every word fits; ``known`` remembers how two words fit."""
    words = words_of(entry.words)
    if entry.code:
        typed = _without_code(typed, _code(entry.label))
    else:
        words += words_of(entry.label)
    fits: list[Fit] = []
    for one in typed:
        best = _best(one, words, known)
        if best is None:
            return None
        fits.append(best)
    return Hit(entry, sum(fits), Fit.SLIP in fits)


def _best(one: str, words: tuple[str, ...], known: dict[tuple[str, str], Fit | None]) -> Fit | None:
    for other in words:
        if (one, other) not in known:
            known[one, other] = fit(one, other)
    return min((f for other in words if (f := known[one, other]) is not None), default=None)


@lru_cache(maxsize=16384)
def _code(text: str) -> tuple[str, ...]:
    return label_words(text)


def _without_code(typed: tuple[str, ...], code: tuple[str, ...]) -> tuple[str, ...]:
    """The words besides the code, wherever it stands among them, in words or in one."""
    for length in range(min(len(code), len(typed)), 0, -1):
        for start in range(len(typed) - length + 1):
            words = typed[start : start + length]
            if _code(" ".join(words)) == code or words == ("".join(code),):
                return typed[:start] + typed[start + length :]
    return typed


def fit(typed: str, word: str) -> Fit | None:
    """How a word that somebody typed fits a word."""
    if typed == word:
        return Fit.EXACT
    if typed.isdigit():
        if word.isdigit() and typed.lstrip("0") == word.lstrip("0"):
            return Fit.EXACT
        long = len(typed) >= DIGITS_OF_A_PREFIX
        return Fit.PREFIX if long and word.startswith(typed) else None
    if word.startswith(typed):
        return Fit.PREFIX
    slips = (len(typed) >= LETTERS_OF_ONE_SLIP) + (len(typed) >= LETTERS_OF_TWO)
    if not slips or any(c.isdigit() for c in typed):
        return None
    near = DamerauLevenshtein.distance(typed, word, score_cutoff=slips) <= slips
    return Fit.SLIP if near else None
