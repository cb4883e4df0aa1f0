"""Standings of alternates as files write them: 2, Alt 2, A2, 2nd alternate."""

from __future__ import annotations

import re

from bandops.lib.imports.values import parse_whole
from bandops.lib.imports.words import Known, Vocabulary

WRITTEN = re.compile(
    r"alt(?:ernate)?s?\.?\s*[#-]?\s*(?P<behind>\d{1,2})?"
    r"|(?P<before>\d{1,2})(?:st|nd|rd|th)?\s+alt(?:ernate)?\.?",
    re.IGNORECASE,
)
SHORT = re.compile(r"a\s*[.#-]?\s*(\d{1,2})", re.IGNORECASE)
NUMBER = re.compile(r"[+-]?\d[\d.]*")
HIGHEST, OFFERED = 99, 9
ORDINALS = ("first", "second", "third", "fourth", "fifth")
STANDING = Vocabulary(
    "standing",
    "standing of an alternate",
    {"0": "in the order of the file", **{str(n): str(n) for n in range(1, OFFERED + 1)}},
    {
        **{word: str(n) for n, word in enumerate(ORDINALS, 1)},
        **dict(zip(("1st", "2nd", "3rd", "4th", "5th"), "12345", strict=True)),
    },
).register()


def alternate_named(text: str) -> int | None:
    """The standing of “Alt 2”, 0 for “Alt” alone; None for what names no alternate."""
    match = WRITTEN.fullmatch(text.strip())
    return int(match["behind"] or match["before"] or 0) if match else None


def is_short_alternate(text: str) -> bool:
    """A2, which may as well be a spot's label."""
    return SHORT.fullmatch(text.strip()) is not None


def read_standing(text: str, known: Known) -> int:
    """The standing; 0 where the file's order counts. ValueError for a number that is none, and
    UnknownWord for another word."""
    if not text:
        return 0
    short = SHORT.fullmatch(text)
    named = int(short[1]) if short else alternate_named(text)
    if named == 0 and not short:
        return 0
    if named is None and not NUMBER.fullmatch(text):
        message = f"“{text}” is not a standing such as 2 or Alt 2."
        return int(STANDING.find(text, known, message))
    return parse_whole(text if named is None else str(named), least=1, most=HIGHEST)
