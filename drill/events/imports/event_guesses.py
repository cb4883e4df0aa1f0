"""What the words of an event's name and of its segments' cell tell."""

from __future__ import annotations

import re

from bandops.lib.imports.words import Choice, Known, UnknownWord, WordKind, register_words
from bandops.lib.names import clean_name, plain
from drill.events.enums import EventKind, SegmentKind
from drill.events.imports.event_words import KINDS, SEGMENT_KINDS
from roster.people.models import Season

NAME_WORD = "word of an event's name"
TELLS = {
    "rehearsal": EventKind.REHEARSAL,
    "rehearsals": EventKind.REHEARSAL,
    "practice": EventKind.REHEARSAL,
    "camp": EventKind.REHEARSAL,
    "sectionals": EventKind.REHEARSAL,
    "parade": EventKind.PARADE,
    "trip": EventKind.TRIP,
    "exhibition": EventKind.TRIP,
    "festival": EventKind.TRIP,
    "vs": EventKind.GAME,
    "versus": EventKind.GAME,
    "home": EventKind.GAME,
    "homecoming": EventKind.GAME,
    "game": EventKind.GAME,
    "at": EventKind.GAME,
}
"""word of a name -> the kind of event it is likely of, the surest word first"""
SEPARATORS = re.compile(r"\s*[,;/+&\n\r|]\s*|\s+and\s+", re.IGNORECASE)


def _choices(season: Season) -> list[Choice]:
    return KINDS.choices


register_words(WordKind(NAME_WORD, "kind of event", _choices))


def telling_word(name: str) -> str:
    """The word of an event's name that tells its kind; empty for none."""
    words = plain(name.replace("@", " at ")).split()
    return next((word for word in TELLS if word in words), "")


def kind_told(name: str, known: Known) -> str:
    """The kind that a word of a name tells, as staff said; empty where no word tells one.

    UnknownWord, with the likely kind, for a word that nobody has confirmed.
    """
    word = telling_word(name)
    if not word:
        return ""
    if known.get(word) in KINDS.labels:
        return known[word]
    message = f"An event with “{word}” in its name is probably a {TELLS[word].label}."
    raise UnknownWord(NAME_WORD, word, message, KINDS.choices, TELLS[word].value)


def segment_names(text: str) -> list[str]:
    """The segments that one cell names: “pregame, halftime and stands”."""
    names = (clean_name(part) for part in SEPARATORS.split(text))
    return [name[:1].upper() + name[1:] for name in names if plain(name)]


def segment_kind(name: str, known: Known) -> str:
    """The kind of a segment by its name; UnknownWord, with the likely kind, for another word."""
    message = f"What kind of segment is “{name}”?"
    try:
        return SEGMENT_KINDS.find(name, known, message)
    except UnknownWord as unknown:
        words = plain(name).split()
        told = [kind.value for kind in SegmentKind if kind.value in words]
        if len(told) == 1:
            unknown.preset = told[0]
        raise
