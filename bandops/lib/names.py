"""Names as people write them: stored in NFC, searched and sorted without marks and case."""

from __future__ import annotations

import unicodedata

# Letters that NFKD does not take apart; a reader looks for them under the plain letter.
PLAIN = str.maketrans(
    {"ø": "o", "đ": "d", "ð": "d", "ł": "l", "ħ": "h", "ı": "i", "þ": "th", "æ": "ae", "œ": "oe"}
)
APOSTROPHES = str.maketrans({"’": "'", "‘": "'", "ʼ": "'", "`": "'"})


def clean_name(text: str) -> str:
    """The stored form: NFC, single spaces, no control characters."""
    kept = "".join(" " if unicodedata.category(c) in ("Cc", "Zl", "Zp") else c for c in text)
    return unicodedata.normalize("NFC", " ".join(kept.split()))


def plain(text: str) -> str:
    """Without diacritics, case and punctuation: what both databases search and sort alike."""
    folded = text.casefold().translate(PLAIN).translate(APOSTROPHES)
    taken_apart = unicodedata.normalize("NFKD", folded)
    letters = "".join(c for c in taken_apart if not unicodedata.combining(c))
    return " ".join("".join(c if c.isalnum() else " " if c != "'" else "" for c in letters).split())


def sort_key(name: str) -> str:
    """Last word first, then the rest: 'Ana Núñez' sorts as 'nunez ana'."""
    words = plain(name).split()
    return " ".join(words[-1:] + words[:-1])
