"""A band's own abbreviations, spelled out in words that everybody reads."""

from __future__ import annotations

import re
from collections.abc import Mapping

from drill.fundamentals.core.definition import Fundamental
from drill.fundamentals.core.word_tokens import (
    FILLERS,
    HEADINGS,
    NotUnderstood,
    Phrase,
    names_of,
    phrase,
)
from drill.fundamentals.core.words import read_words, written_name

LONGEST = 300
"""characters of words, spelled out"""
_GRAMMAR = FILLERS | {
    *("at", "to", "toward", "towards", "then", "and", "facing", "face", "side", "side1", "side2"),
    *HEADINGS,
}
_WORD = re.compile(r"[^\W\d_][^\W_]*")

Table = Mapping[Phrase, str]
"""what each abbreviation says"""


def spelled_out(text: str, table: Table, fundamentals: Mapping[str, Fundamental]) -> str:
    """The text with each abbreviation replaced by what it says, and those in that as well.

    As much as there is of a name is read at once: “left” within “left flank” stays.

    Raises:
        NotUnderstood: for an abbreviation that says itself, and where it gets too long.
    """
    if not table:
        return text
    names = names_of(fundamentals)
    longest = max(len(name) for name in (*table, *names))
    return _Speller(table, frozenset(names), longest).spell(text, ())


class _Speller:
    def __init__(self, table: Table, names: frozenset[Phrase], longest: int) -> None:
        self.table, self.names, self.longest = table, names, longest

    def spell(self, text: str, within: tuple[Phrase, ...]) -> str:
        """The text spelled out; ``within`` are the abbreviations that it is said by."""
        pieces = re.split(r"(\W+)", text)
        said, at = "", 0
        while at < len(pieces):
            length = self._length(pieces, at)
            found = phrase("".join(pieces[at : at + length]))
            if found in self.table:
                said += self._says(found, within)
            else:
                said += "".join(pieces[at : at + length])
            if len(said) > LONGEST:
                raise NotUnderstood(f"Spelled out, that is longer than {LONGEST} letters.")
            at += length
        return said

    def _length(self, pieces: list[str], at: int) -> int:
        """How many pieces the longest name or abbreviation takes that begins here."""
        if at % 2:
            return 1
        for length in range(2 * self.longest - 1, 1, -2):
            gaps = pieces[at + 1 : at + length : 2]
            if at + length <= len(pieces) and not any(gap.strip(" -") for gap in gaps):
                found = phrase("".join(pieces[at : at + length]))
                if found in self.table or found in self.names:
                    return length
        return 1

    def _says(self, found: Phrase, within: tuple[Phrase, ...]) -> str:
        if found in within:
            raise NotUnderstood(f"“{' '.join(found)}” says itself.")
        return self.spell(self.table[found], (*within, found))


def word_problem(word: str, fundamentals: Mapping[str, Fundamental]) -> str | None:
    """Why a word cannot be an abbreviation. What ``written`` writes cannot: it stays as it is."""
    said = phrase(word)
    if not said or not all(_WORD.fullmatch(part) for part in said):
        return "An abbreviation is made of letters and begins with one, as in “TR” or “b2”."
    if said[0] in _GRAMMAR:
        return f"“{said[0]}” is needed to read other words."
    for it in fundamentals.values():
        if said in (phrase(it.name), phrase(written_name(it))):
            return f"“{word}” always means {it.name}."
    return None


def problem(said: Phrase, table: Table, fundamentals: Mapping[str, Fundamental]) -> str | None:
    """Why what an abbreviation of the table says cannot be read. It may be a whole move, one
    without its counts, a facing, or what stands behind a move."""
    try:
        spelled = spelled_out(" ".join(said), table, fundamentals)
    except NotUnderstood as error:
        return str(error)
    troubles = []
    for text in (spelled, f"{spelled} 8", f"{spelled}, forward 8", f"forward 8 {spelled}"):
        try:
            read_words(text, fundamentals)
        except NotUnderstood as error:
            troubles.append(str(error))
        else:
            return None
    return troubles[0]
