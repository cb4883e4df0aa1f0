"""Free text of absences in a file: how each row is read, and that somebody looks at it."""

from __future__ import annotations

from collections.abc import Iterable

from bandops.lib.imports.plan import Fault, Mapped, Record
from bandops.lib.imports.proposals import Proposal, ProposedField, answered
from bandops.lib.imports.told import ranges
from bandops.lib.imports.words import Choice
from drill.absences.core.phrases.days import Clock
from drill.absences.core.phrases.reading import Reading, read
from drill.absences.enums import AbsenceKind, ReasonCategory
from drill.absences.services.written import clock_of
from roster.people.models import Season

SOURCE = "written"
KINDS = tuple(Choice(*choice) for choice in AbsenceKind.choices)
CATEGORIES = tuple(Choice(*choice) for choice in ReasonCategory.choices)


def proposals(mapped: Mapped, season: Season) -> list[Proposal]:
    """The rows in which somebody wrote free text."""
    clock = clock_of(season)
    return [_proposal(record, clock) for record in mapped.records() if record[SOURCE]]


def _proposal(record: Record, clock: Clock) -> Proposal:
    reading = read(record[SOURCE], clock)
    return Proposal(
        record.number,
        record["member"],
        SOURCE,
        record[SOURCE],
        tuple(_fields(record, reading)),
        reading.doubts,
    )


def _fields(record: Record, reading: Reading) -> Iterable[ProposedField]:
    """What other columns of the row say goes before what was read; an event has its own day."""
    first, last = reading.from_date, reading.until_date
    dated = not record["event"] and not record["from"]
    yield ProposedField("kind", "Kind", record["kind"].lower() or reading.said.value, KINDS)
    yield ProposedField("from", "From", f"{first}" if dated else record["from"], (), "date")
    until = f"{last or ''}" if dated else record["until"]
    yield ProposedField("until", "Through", until, (), "date")
    for key, title, time in (
        ("late_until", "Late until", reading.late_until),
        ("leaves_at", "Leaves at", reading.leaves_at),
    ):
        value = record[key] or (f"{time:%H:%M}" if time else "")
        yield ProposedField(key, title, value, (), "time")
    chance = "" if reading.chance == 1 else str(reading.chance)
    yield ProposedField("chance", "Chance of being out", record["chance"] or chance)
    category = record["category"].lower() or (reading.reason.value if reading.reason else "")
    yield ProposedField("category", "For staff", category, CATEGORIES)


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
        message = f"Nobody has checked how the free text of {rows} is read. See “Read as” above."
        warnings.append(records[sure[0]].fault(SOURCE, message, grave=True))
    return answered(mapped, {str(it.row): it.texts for it in found}), faults, warnings


def _look(it: Proposal) -> str:
    return f"{' '.join(it.doubts)} Tick the row above if it is read right, or correct it."
