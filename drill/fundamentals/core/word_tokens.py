"""The words of one part of a text, each as a fundamental, a direction, counts or a step size."""

from __future__ import annotations

import difflib
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from itertools import product

from drill.fundamentals.core.definition import MOST_COUNTS, Fundamental
from drill.fundamentals.core.engine import FRONT

HEADINGS = {"back": 0.0, "front": FRONT, "side 1": 90.0, "side 2": -90.0}
"""where somebody looks on the field: to the press box is the front"""
LARGEST_STEP = 60.0
FIVE_YARDS = 180.0
FILLERS = frozenset(
    ("count", "counts", "ct", "cts", "step", "steps", "for", "the", "a", "over", "x")
)
TOWARD = Fundamental(code="toward", name="toward", any_counts=True, path=((0.0, 1.0),))
"""steps along the field, whatever the facing"""

Phrase = tuple[str, ...]
_SIDES = frozenset(
    (*before, side) for before in ((), ("to",), ("to", "the")) for side in ("left", "right")
)


class NotUnderstood(ValueError):
    """Words that say no move; the message names the word, for the person who typed it."""


@dataclass(frozen=True)
class Said:
    """What a phrase names: a fundamental, or steps ``along`` a heading of the field. A ``side``
    alone ("left") could also belong to the name beside it."""

    it: Fundamental
    along: float | None = None
    side: bool = False


@dataclass(frozen=True)
class Token:
    """One of: something named, a number of counts, the step of the move before (inches)."""

    named: Said | None = None
    counts: int | None = None
    step: float | None = None


def phrase(text: str) -> Phrase:
    """A text as its words are compared: in small letters, hyphens as spaces."""
    return tuple(text.lower().replace("-", " ").split())


def names_of(fundamentals: Mapping[str, Fundamental]) -> dict[Phrase, Said]:
    """Every way to say a move. Of two fundamentals that say the same the later counts: a band's
    own stand after those that everybody has."""
    found = {
        (*to, *the, *heading.split()): Said(TOWARD, angle)
        for to, the, (heading, angle) in product(
            (("to",), ("toward",), ("towards",)), ((), ("the",)), HEADINGS.items()
        )
    }
    for it in fundamentals.values():
        for text in (it.name, it.code, *it.also):
            said = phrase(text)
            found[said] = Said(it, side=said in _SIDES)
    return found


def tokens(words: list[str], names: Mapping[Phrase, Said]) -> Iterator[Token]:
    """The words in order, each as much of a name as there is.

    Raises:
        NotUnderstood: with the word.
    """
    longest = max((len(name) for name in names), default=0)
    at = 0
    while at < len(words):
        word = words[at]
        if word.startswith("@"):
            yield Token(step=_step(word[1:]))
            at += 1
            continue
        if word[0].isdecimal():
            yield Token(counts=_counts(word))
            at += 1
            continue
        length = next((n for n in range(longest, 0, -1) if tuple(words[at : at + n]) in names), 0)
        if length:
            yield Token(named=names[tuple(words[at : at + length])])
        elif word not in FILLERS:
            raise NotUnderstood(_unknown(word, names))
        at += length or 1


def _unknown(word: str, names: Mapping[Phrase, Said]) -> str:
    known = sorted({" ".join(name) for name in names})
    near = difflib.get_close_matches(word, known, n=1)
    hint = f" Did you mean “{near[0]}”?" if near else ""
    return f"“{word}” is not understood.{hint}"


def _counts(word: str) -> int:
    if not word.isdigit() or not word.isascii():
        raise NotUnderstood(f"“{word.replace('·', '.')}” is not a whole number of counts.")
    number = int(word) if len(word) < 6 else MOST_COUNTS + 1
    if number == 0 or number > MOST_COUNTS:
        raise NotUnderstood(f"Counts go from 1 to {MOST_COUNTS}, not “{word}”.")
    return number


def _step(number: str) -> float:
    ratio = float(number.replace("·", "."))
    if not ratio or FIVE_YARDS / ratio > LARGEST_STEP:
        raise NotUnderstood(f"Nobody marches {number}-to-5.")
    return FIVE_YARDS / ratio
