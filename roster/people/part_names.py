"""What people call parts in their own spreadsheets (common practice, no source)."""

from __future__ import annotations

import re

from bandops.lib.names import plain

WORDS = {
    "tpt": "trumpet",
    "trp": "trumpet",
    "trpt": "trumpet",
    "tp": "trumpet",
    "cl": "clarinet",
    "clar": "clarinet",
    "clt": "clarinet",
    "bcl": "bass clarinet",
    "picc": "piccolo",
    "fl": "flute",
    "sax": "saxophone",
    "asax": "alto saxophone",
    "asx": "alto saxophone",
    "alto": "alto saxophone",
    "tsax": "tenor saxophone",
    "tsx": "tenor saxophone",
    "bsax": "baritone saxophone",
    "mello": "mellophone",
    "mellos": "mellophone",
    "mel": "mellophone",
    "tbn": "trombone",
    "trb": "trombone",
    "bone": "trombone",
    "bones": "trombone",
    "tbone": "trombone",
    "tbones": "trombone",
    "bari": "baritone",
    "euph": "euphonium",
    "sousa": "sousaphone",
    "sousas": "sousaphone",
    "snare": "snare drum",
    "snares": "snare drum",
    "tenors": "tenor",
    "cym": "cymbals",
    "cymbal": "cymbals",
    "bd": "bass drum",
    "dm": "drum major",
    "flag": "flags",
}
PHRASES = {
    "a sax": "alto saxophone",
    "t sax": "tenor saxophone",
    "b sax": "baritone saxophone",
    "bari sax": "baritone saxophone",
    "b cl": "bass clarinet",
    "b clar": "bass clarinet",
}
"""letters that are a word only beside another"""
NUMBERS = {
    "first": "1",
    "1st": "1",
    "i": "1",
    "second": "2",
    "2nd": "2",
    "ii": "2",
    "third": "3",
    "3rd": "3",
    "iii": "3",
    "fourth": "4",
    "4th": "4",
    "iv": "4",
}
LIKELY = {
    "quads": "tenor drums",
    "quints": "tenor drums",
    "toms": "tenor drums",
    "dr": "drum",
    "drs": "drum",
    "percussion": "drum",
    "bass": "bass drum",
    "bells": "glockenspiel",
    "pit": "front percussion",
    "horn": "mellophone",
    "tuba": "sousaphone",
    "cg": "flags",
    "guard": "flags",
    "colorguard": "flags",
    "color": "flags",
    "silks": "flags",
    "weapons": "rifles",
    "baton": "twirler",
    "majorette": "twirler",
    "conductor": "drum major",
    "xylo": "front percussion",
}
"""what a word may mean: offered, never taken for certain"""
INSTRUMENTS = {
    *("trumpet", "cornet", "mellophone", "trombone", "baritone", "euphonium", "sousaphone"),
    *("tuba", "piccolo", "flute", "clarinet", "saxophone", "snare", "tenor", "cymbals", "drum"),
    *("glockenspiel", "flags", "rifles", "sabres"),
}
AS_THEY_ARE = {
    *("quads", "quints", "toms", "bells", "pit", "guard", "color guard", "colorguard"),
    *("drum major", "front ensemble", "front percussion", "twirler", "twirlers", "dance"),
    *("rifle", "silks", "tuba", "marimba", "vibraphone", "xylophone", "auxiliary percussion"),
}
"""what a band may call a part without another word for it"""
VOICES = {"piccolo", "soprano", "alto", "tenor", "baritone", "bass", "solo"}
"""words before an instrument that make it another one"""
SILENT = {"drum", "drums", "part", "player", "marching"}


def meaning(text: str) -> frozenset[str]:
    """The words that count: 'Tpt 1', '1st Trumpet' and 'First trumpet' mean the same."""
    found: list[str] = []
    for word in _words(text):
        spelled = WORDS.get(word, NUMBERS.get(word, word))
        found += spelled.split()
    # 'alto sax' and 'alto' spell the saxophone twice; a set does not mind.
    counted = [word.removesuffix("s") for word in found if word not in SILENT]
    return frozenset(counted or found)


def likely_meaning(text: str) -> frozenset[str]:
    """The words that count, with those that a word may stand for beside it."""
    words = _words(text)
    return meaning(" ".join([*words, *(LIKELY[word] for word in words if word in LIKELY)]))


def spelled_out(text: str) -> str:
    """The name of a part written in full: “Tpt 1” is Trumpet 1; empty where a word of it is none
    that parts are usually called by."""
    if plain(text) in AS_THEY_ARE:
        return plain(text).capitalize()
    known = INSTRUMENTS | VOICES
    short = (WORDS.get(w, w if w in known else w.removesuffix("s")) for w in _words(text))
    words = list(dict.fromkeys(" ".join(short).split()))
    named = bool(set(words) & INSTRUMENTS)
    whole = all(word in known or word.isdecimal() or word in NUMBERS for word in words)
    return " ".join(words).capitalize() if named and whole else ""


def _words(text: str) -> list[str]:
    """The words of a text, with letters that stand for one beside another written out."""
    spelled = plain(text)
    for short, full in PHRASES.items():
        spelled = re.sub(rf"\b{short}\b", full, spelled)
    return spelled.split()
