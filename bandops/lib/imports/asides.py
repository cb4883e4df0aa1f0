"""Rows of a file that are likely no entries: totals, headings that come again, notes."""

from __future__ import annotations

import re
from collections.abc import Sequence
from statistics import median

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
"""headers from which a lone cell stands apart from the table, and filled cells of a usual row"""
COUNT = re.compile(r"\s*(?:[(\[]\s*\d+\s*[)\]]|[-–:]\s*\d+)\s*$")
"""how many a group has, behind its heading"""
GROUPS = re.compile(
    r".*:|(rank|section|row|line|squad)\s+\S{1,3}|.*\b(section|rank|line|squad|leaders?|staff|"
    r"alternates)",
    re.IGNORECASE,
)
"""what stands above a group of rows"""


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


def group_headings(rows: Sequence[Sequence[str]]) -> list[int]:
    """Positions of the lone cells that head groups of a list whose usual rows are full:
    'Clarinets', 'Rank B', or one without a comma among names that have one."""
    counts = [sum(map(bool, texts)) for texts in rows]
    if not counts or median(counts) < NARROW:
        return []
    lone = {at: _lone(texts) for at, texts in enumerate(rows) if counts[at] == 1}
    full = [texts for at, texts in enumerate(rows) if counts[at] > 1]
    return [
        at
        for at, (column, text) in lone.items()
        if GROUPS.fullmatch(text) or (_is_word(text) and _stands_out(text, column, full))
    ]


def _lone(texts: Sequence[str]) -> tuple[int, str]:
    """Where the cell stands, and its text without a count."""
    return next((at, COUNT.sub("", text)) for at, text in enumerate(texts) if text)


def _is_word(text: str) -> bool:
    return len(text.split()) < NOTE_WORDS and not any(c.isdigit() or c == "@" for c in text)


def _stands_out(text: str, column: int, rows: Sequence[Sequence[str]]) -> bool:
    """A single word among names of several, or no comma where nearly all others have one."""
    others = [texts[column] for texts in rows if column < len(texts) and texts[column]]
    sharing = [other for other in others if len(other.split()) > 1]
    turned = [other for other in others if "," in other]
    if len(others) < NARROW:
        return False
    alone = len(text.split()) == 1 and len(sharing) > 0.8 * len(others)
    return alone or ("," not in text and len(turned) > 0.8 * len(others))


def likely_aside(texts: Sequence[str], headers: Sequence[str]) -> str:
    """What a row looks like that is no entry; empty for an entry."""
    if is_totals(texts):
        return "a line of totals"
    if is_heading(texts, headers):
        return "the headings again"
    return "a note" if is_note(texts, headers) else ""
