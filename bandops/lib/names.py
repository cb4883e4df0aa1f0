"""Names as people write them: stored in NFC, searched and sorted without marks and case."""

from __future__ import annotations

import re
import unicodedata

# Letters that NFKD does not take apart; a reader looks for them under the plain letter.
PLAIN = str.maketrans(
    {"ø": "o", "đ": "d", "ð": "d", "ł": "l", "ħ": "h", "ı": "i", "þ": "th", "æ": "ae", "œ": "oe"}
)
APOSTROPHES = str.maketrans(dict.fromkeys("’‘ʼʻ′´`", "'"))
# Invisible marks that files bring along and that can turn a printed name around.
INVISIBLE = frozenset(
    "\u200b\u2060\ufeff\u00ad\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069"
)


def clean_name(text: str) -> str:
    """The stored form: NFC, single spaces, no control characters or invisible marks."""
    seen = (c for c in text if c not in INVISIBLE)
    kept = "".join(" " if unicodedata.category(c) in ("Cc", "Zl", "Zp") else c for c in seen)
    return unicodedata.normalize("NFC", " ".join(kept.split()))


def plain(text: str) -> str:
    """Without diacritics, case and punctuation: what both databases search and sort alike.

    Vowel signs of scripts that write them apart stay: they are letters, not diacritics.
    """
    folded = unicodedata.normalize("NFKD", text.translate(APOSTROPHES)).casefold()
    taken_apart = unicodedata.normalize("NFKD", folded.translate(PLAIN))
    letters = (c for c in taken_apart if c != "'" and not unicodedata.combining(c))
    return " ".join("".join(c if _is_letter(c) else " " for c in letters).split())


def _is_letter(character: str) -> bool:
    return character.isalnum() or unicodedata.category(character).startswith("M")


def label_words(label: str) -> tuple[str, ...]:
    """The runs of digits and of letters: A1, a-1 and A 01 read the same, 1-11 and 11-1 do not."""
    runs = re.findall(r"[0-9]+|[^0-9\s]+", plain(label))
    return tuple(run.lstrip("0") or "0" if run.isdecimal() else run for run in runs)


def label_key(label: str) -> list[tuple[int, str]]:
    """Labels in the order people count: 1-2 before 1-10, and 2 before 2A."""
    parts = re.findall(r"[0-9]+|[^0-9]+", plain(label))
    return [(int(part), "") if part.isdecimal() else (-1, part) for part in parts]
