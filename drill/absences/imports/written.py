"""Free text of absences in a file: how each row is read, and that somebody looks at it."""

from __future__ import annotations

import datetime
from collections.abc import Iterable, Sequence
from dataclasses import replace

from bandops.lib.imports.plan import Fault, Mapped, Record
from bandops.lib.imports.proposals import Proposal, ProposedField, answered
from bandops.lib.imports.told import ranges
from bandops.lib.imports.values import parse_date, parse_time
from bandops.lib.imports.words import Choice, UnknownWord
from drill.absences.core.phrases.days import Clock
from drill.absences.core.phrases.reading import Reading, read
from drill.absences.enums import ReasonCategory
from drill.absences.imports.absence_columns import CATEGORIES
from drill.absences.imports.absence_words import KINDS
from drill.absences.imports.places import Place, place_fields, place_of
from drill.absences.services.written import clock_of, segment_names
from drill.events import queries as event_queries
from drill.events.models import Event
from roster.people.models import Season

SOURCE = "written"
SECONDS = len("19:30")
"""where the seconds of a time begin, which no form asks for"""
Moment = datetime.date | datetime.time | None
REASONS = tuple(Choice(*choice) for choice in ReasonCategory.choices)


def proposals(mapped: Mapped, season: Season) -> list[Proposal]:
    """The rows in which somebody wrote free text."""
    clock, names = clock_of(season), segment_names(season)
    events = list(event_queries.events(season))
    return [
        _proposal(record, _reading(record, clock, names), events)
        for record in mapped.records()
        if _written(record)
    ]


def _written(record: Record) -> str:
    """What somebody wrote: the free text, with a cell of days that holds more than one day."""
    days = record["from"] if record.has(SOURCE) and not _plain_day(record) else ""
    return ", ".join(filter(None, [record[SOURCE], days]))


def _plain_day(record: Record) -> datetime.date | None:
    """The row's own day, where its cell holds just one."""
    try:
        return parse_date(record["from"])
    except ValueError:
        return None


def _reading(record: Record, clock: Clock, names: Sequence[str]) -> Reading:
    """How the row is read; a text about another day than the row's own is not certain."""
    reading, own = read(_written(record), clock, names), _plain_day(record)
    if own is None or not reading.dated:
        return reading
    if reading.from_date <= own <= (reading.until_date or own):
        return reading
    return replace(reading, doubts=(*reading.doubts, "The text names another day."))


def _proposal(record: Record, reading: Reading, events: list[Event]) -> Proposal:
    place, doubt = place_of(record, reading, events)
    return Proposal(
        record.number,
        record["member"],
        SOURCE,
        _written(record),
        tuple(_fields(record, reading, place, events)),
        (*reading.doubts, *filter(None, [doubt, _undated(record, reading, place)])),
    )


def _undated(record: Record, reading: Reading, place: Place) -> str:
    """A list that is brought in has no today of its own."""
    named = reading.dated or record["from"] or place.event or place.asked
    return "" if named else "No day given: do you mean today?"


def _fields(
    record: Record, reading: Reading, place: Place, events: list[Event]
) -> Iterable[ProposedField]:
    """What other columns of the row say goes before what was read; an event has its own day."""
    yield ProposedField("kind", "Kind", _kind(record, reading), tuple(KINDS.choices))
    yield from place_fields(record, place, events)
    if not (place.event or place.asked):
        own = _plain_day(record)
        first = own or reading.from_date
        yield ProposedField("from", "From", first.isoformat(), (), "date")
        yield _typed(record, "until", "Through", "date", None if own else reading.until_date)
    yield _typed(record, "late_until", "Late until", "time", reading.late_until)
    yield _typed(record, "leaves_at", "Leaves at", "time", reading.leaves_at)
    chance = "" if reading.chance == 1 else str(reading.chance)
    yield ProposedField("chance", "Chance of being out", record["chance"] or chance)
    reason = reading.reason.value if reading.reason else ""
    said = CATEGORIES.get(record["category"].lower(), record["category"].lower())
    value = said if said in ReasonCategory.values and said else reason
    yield ProposedField("category", "For staff", value, REASONS)


def _kind(record: Record, reading: Reading) -> str:
    """What the row's own column says where it names a kind."""
    if not record["kind"]:
        return reading.said.value
    try:
        return KINDS.find(record["kind"], record.mapped.words.of(KINDS.kind), "")
    except UnknownWord:
        return reading.said.value


def _typed(record: Record, key: str, title: str, type_: str, read_as: Moment) -> ProposedField:
    """A day or a time as an input takes it; a cell that is neither stays to be seen."""
    if not record[key]:
        text = "" if read_as is None else read_as.isoformat()
        return ProposedField(key, title, text[:SECONDS] if type_ == "time" else text, (), type_)
    try:
        value = parse_date(record[key]) if type_ == "date" else parse_time(record[key])
    except ValueError:
        return ProposedField(key, title, record[key])
    text = value.isoformat() if value else ""
    return ProposedField(key, title, text[:SECONDS] if type_ == "time" else text, (), type_)


def with_readings(mapped: Mapped, season: Season) -> tuple[Mapped, list[Fault], list[Fault]]:
    """The table as it is read, faults for rows that are not certain, and a warning to accept
    for those that nobody has looked at."""
    found = proposals(mapped, season)
    records = {record.number: record for record in mapped.records()}
    faults = [records[it.row].fault(SOURCE, _look(it)) for it in found if it.doubts]
    sure = [it.row for it in found if not it.doubts]
    warnings = []
    if sure:
        rows = f"row{'s' if len(sure) > 1 else ''} {ranges(sure)}"
        message = f"Nobody has checked how the text in {rows} was read. Accept it above."
        warnings.append(records[sure[0]].fault(SOURCE, message, grave=True))
    return answered(mapped, {str(it.row): it.texts for it in found}), faults, warnings


def _look(it: Proposal) -> str:
    return f"{' '.join(it.doubts)} Check the row above if it was read right, or correct it."
