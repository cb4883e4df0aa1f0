"""A phrase about an absence read as a proposal: what is said, for which days, until what time."""

from __future__ import annotations

import datetime
from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal

from drill.absences.core.availability import Said
from drill.absences.core.phrases.days import Clock, with_months
from drill.absences.core.phrases.reader import Reader
from drill.absences.core.phrases.tokens import tokens_of, without_brackets
from drill.absences.core.phrases.vocabulary import Kind, Reason

TELLING = {
    Kind.SAID, Kind.DOUBT, Kind.REASON, Kind.SPAN, Kind.WEEKDAY, Kind.BACK, Kind.UNTIL,
    Kind.SINCE, Kind.OPEN, Kind.FROM_TODAY, Kind.CHANCE, Kind.SEGMENT,
}  # fmt: skip
"""what a column of free text has in most of its cells, and others have not"""
SHORTEST = len("no")
LIKELY = Decimal("0.5")
"""the chance of being out of somebody who may be out, where the phrase gives none"""


@dataclass(frozen=True, slots=True)
class Reading:
    """What a phrase says. ``dated`` is false where it names no day and today is meant.

    ``doubts`` are sentences about what a person must look at; they never repeat the phrase.
    ``segments`` are the parts of an event that it names, in small letters. Of the reason only a
    category is kept, and only where a word names it for certain.
    """

    said: Said
    from_date: datetime.date
    until_date: datetime.date | None
    late_until: datetime.time | None = None
    leaves_at: datetime.time | None = None
    chance: Decimal = Decimal(1)
    reason: Reason | None = None
    dated: bool = True
    segments: tuple[str, ...] = ()
    doubts: tuple[str, ...] = ()


def read(text: str, clock: Clock, segments: Sequence[str] = ()) -> Reading:
    """The proposal for a phrase; what is not certain is among its doubts. ``segments`` are names
    that parts of events have here."""
    rest, beside = without_brackets(text)
    reader = Reader(clock, with_months(tokens_of(rest, segments)))
    reader.reasons += [t.value for t in beside if isinstance(t.value, Reason)]
    reader.run()
    return _proposal(reader)


def _proposal(reader: Reader) -> Reading:
    said = _settled(reader)
    dated = reader.start is not None or reader.end is not None or reader.open
    first, last = _days(reader, open_end=reader.open or (said is Said.IN and not dated))
    return Reading(
        said,
        first,
        last,
        reader.times.get(Said.LATE),
        reader.times.get(Said.LEAVES),
        (reader.chance or LIKELY) if said is Said.DOUBTFUL else Decimal(1),
        _reason(reader),
        dated,
        tuple(reader.segments),
        tuple(reader.doubts),
    )


def _days(reader: Reader, *, open_end: bool) -> tuple[datetime.date, datetime.date | None]:
    """First and last day; an end alone means from today, nothing at all today."""
    first = reader.start or reader.clock.today
    last = None if open_end and reader.end is None else reader.end or first
    if last is not None and last < first:
        reader.doubt("The last day is before the first.")
        first = last
    return first, last


def _settled(reader: Reader) -> Said:
    _settle_time(reader)
    said = reader.said
    named = reader.start or reader.end or reader.open or reader.reasons or reader.segments
    if said is None and not named:
        reader.doubt("It does not say who is out when.")
    if reader.doubtful and said in (None, Said.OUT):
        return Said.DOUBTFUL
    if reader.doubtful:
        reader.doubt("It does not say for sure if they are coming.")
    if said in (Said.LATE, Said.LEAVES) and said not in reader.times:
        reader.doubt("It does not say what time.")
    return said or Said.OUT


def _settle_time(reader: Reader) -> None:
    """A time that stood before the word it belongs to, or beside none."""
    if reader.loose is None:
        return
    if reader.said not in (Said.LATE, Said.LEAVES):
        reader.doubt("Late until this time, or leaves at it?")
        reader.said = Said.LATE
    reader.times.setdefault(reader.said, reader.loose)


def _reason(reader: Reader) -> Reason | None:
    """The category, where all words name one; a word for any of them says no more."""
    named = set(reader.reasons)
    if len(named) > 1:
        named.discard(Reason.OTHER)
    return named.pop() if len(named) == 1 else None


def tells_of_absence(text: str) -> bool:
    """A text with a word of absences in it: out, a weekday, maybe, a reason."""
    return len(text) > SHORTEST and any(token.kind in TELLING for token in tokens_of(text))
