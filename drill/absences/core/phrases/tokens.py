"""A phrase taken apart: days, times, and the words that say what is meant."""

from __future__ import annotations

import datetime
import re
from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal

from drill.absences.core.phrases.vocabulary import PHRASES, VOCABULARY, Kind

CENTURY = 2000
YEARS = range(1970, 2200)
QUOTES = str.maketrans("’‘`", "'''")
BRACKETS = re.compile(r"[(\[{]([^)\]}]*)[)\]}]?")
PATTERN = re.compile(
    r"(?P<iso>\d{4}-\d{1,2}-\d{1,2})(?!\d)"
    r"|(?P<even>50\s*/\s*50)"
    r"|(?P<slash>\d{1,2}/\d{1,2}(?:/(?:\d{4}|\d{2}))?)(?!\d)"
    r"|(?P<clock>\d{1,2}(?:[:.]\d{2})?\s*[ap](?:\.?m\b\.?|\b)|\d{1,2}:\d{2}(?!\d)|noon\b)"
    r"|(?P<percent>\d{1,3})\s*%"
    r"|(?P<ordinal>\d{1,2})(?:st|nd|rd|th)\b"
    r"|(?P<number>\d+)"
    r"|(?P<word>[^\W\d_]+(?:'[^\W\d_]+)?)"
    r"|(?P<dash>[-–—])|(?P<ask>\?+)|(?P<and>[&+])"
)
CLOCK = re.compile(r"(\d{1,2})(?:[:.](\d{2}))?\s*([ap])?")
LIKELY_EVENING, LIKELY_MORNING = range(7, 10), range(10, 12)
"""hours that without AM or PM must be asked about; earlier ones are in the afternoon"""


@dataclass(frozen=True, slots=True)
class Token:
    """One piece; ``value`` is of the kind's own type, ``sure`` false where it was guessed."""

    kind: Kind
    value: object = None
    sure: bool = True


def without_brackets(text: str) -> tuple[str, list[Token]]:
    """The text without what stands in brackets, and the reasons that this names."""
    beside = tokens_of(" ; ".join(BRACKETS.findall(text)))
    return BRACKETS.sub(" ", text), [t for t in beside if t.kind is Kind.REASON]


def tokens_of(text: str, segments: Sequence[str] = ()) -> list[Token]:
    """All pieces in their order; what means nothing is ``UNKNOWN``. ``segments`` are names that
    parts of events have here."""
    folded = text.casefold().translate(QUOTES)
    named = _any_of(segments)
    found: list[Token] = []
    at = 0
    while at < len(folded):
        name = named.match(folded, at) if named else None
        phrase = PHRASES.match(folded, at)
        match = name or phrase or PATTERN.match(folded, at)
        if match is None:
            at += 1
            continue
        if name:
            found.append(Token(Kind.SEGMENT, name[0]))
        else:
            found.append(_said(phrase[0]) if phrase else _token(match))
        at = match.end()
    return found


def _any_of(names: Sequence[str]) -> re.Pattern[str] | None:
    """Names that are no words of the vocabulary, the longest first."""
    folded = {name.casefold() for name in names} - VOCABULARY.keys() - {""}
    texts = map(re.escape, sorted(folded, key=len, reverse=True))
    return re.compile(rf"\b(?:{'|'.join(texts)})(?!\w)") if folded else None


def _said(phrase: str) -> Token:
    return Token(*VOCABULARY[" ".join(phrase.rstrip(".").split())])


def _token(match: re.Match[str]) -> Token:
    name, text = match.lastgroup or "word", match[0]
    if name == "iso":
        return date_token(*map(int, text.split("-")))
    if name == "slash":
        return _slashed(text)
    if name == "clock":
        return Token(Kind.TIME, datetime.time(12)) if text == "noon" else _clock(text)
    if name == "even":
        return Token(Kind.CHANCE, Decimal("0.5"))
    if name == "percent":
        return Token(Kind.CHANCE, min(Decimal(match["percent"]) / 100, Decimal(1)))
    if name in ("ordinal", "number"):
        digits = match[name]
        return Token(Kind[name.upper()], int(digits)) if len(digits) <= 4 else Token(Kind.UNKNOWN)
    return Token({"dash": Kind.TO, "ask": Kind.DOUBT, "and": Kind.AND}.get(name, Kind.UNKNOWN))


def date_token(year: int, month: int, day: int) -> Token:
    """A date; unknown where there is no such day or its year is a slip."""
    try:
        found = datetime.date(year, month, day)
    except ValueError:
        return Token(Kind.UNKNOWN)
    return Token(Kind.DAY, found) if year in YEARS else Token(Kind.UNKNOWN)


def _slashed(text: str) -> Token:
    """Month first: 10/3, 10/3/26."""
    month, day, *year = map(int, text.split("/"))
    if year:
        return date_token(year[0] + (CENTURY if year[0] < 100 else 0), month, day)
    return Token(Kind.MONTH_DAY, (month, day))


def _clock(text: str) -> Token:
    match = CLOCK.match(text)
    hour, minute, half = int(match[1]), int(match[2] or 0), match[3]  # type: ignore[index]
    return time_token(hour, minute, half)


def time_token(hour: int, minute: int = 0, half: str | None = None) -> Token:
    """A time of day; unsure where only the hour tells whether it is before or after noon."""
    if minute > 59 or hour > 23 or (half and not 1 <= hour <= 12):
        return Token(Kind.UNKNOWN)
    if half:
        return Token(Kind.TIME, datetime.time(hour % 12 + (12 if half == "p" else 0), minute))
    if 1 <= hour < LIKELY_MORNING.start:
        return Token(Kind.TIME, datetime.time(hour + 12, minute), hour not in LIKELY_EVENING)
    return Token(Kind.TIME, datetime.time(hour, minute), hour not in LIKELY_MORNING)
