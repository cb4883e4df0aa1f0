"""Rows of a file that are likely no entries: totals, headings that come again, notes."""

from __future__ import annotations

import re
from collections.abc import Sequence

from bandops.lib.names import plain

TOTALS = re.compile(
    r"(grand\s+|sub)?totals?\b.*|(sum|count|average)\s*[:=]?\s*[\d.,]*", re.IGNORECASE
)
FIGURE = re.compile(r"[-+]?[\d.,\s]+%?|=.*")
NOTE = re.compile(r"(notes?|nb|remarks?|updated|revised|printed|as of|source)\b.*", re.IGNORECASE)
NOTE_MARKS = ("*", "†", "(", "—")
NOTE_WORDS = 4
"""words from which a lone cell reads as a sentence"""
NARROW = 3
"""headers from which a lone cell stands apart from the table"""


def is_totals(texts: Sequence[str]) -> bool:
    """A word for a total, and nothing but figures beside it."""
    filled = [text for text in texts if text]
    named = [text for text in filled if TOTALS.fullmatch(text)]
    return bool(named) and all(text in named or FIGURE.fullmatch(text) for text in filled)


def is_heading(texts: Sequence[str], headers: Sequence[str]) -> bool:
    """The headers once more, as files that were pasted together have them."""
    pairs = [(plain(text), plain(header)) for text, header in zip(texts, headers, strict=False)]
    filled = [pair for pair in pairs if pair[0]]
    return len(filled) > 1 and all(text == header for text, header in filled)


def is_note(texts: Sequence[str], headers: Sequence[str]) -> bool:
    """A lone cell that reads as a remark about the table."""
    filled = [text for text in texts if text]
    if len(filled) != 1 or sum(map(bool, headers)) < NARROW:
        return False
    text = filled[0]
    return (
        len(text.split()) >= NOTE_WORDS
        or text.startswith(NOTE_MARKS)
        or NOTE.fullmatch(text) is not None
    )


def likely_aside(texts: Sequence[str], headers: Sequence[str]) -> str:
    """What a row looks like that is no entry; empty for an entry."""
    if is_totals(texts):
        return "a line of totals"
    if is_heading(texts, headers):
        return "the headings again"
    return "a note" if is_note(texts, headers) else ""
