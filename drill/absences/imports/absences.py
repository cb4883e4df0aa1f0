"""Import of absences."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator
from decimal import Decimal
from typing import Any

from django.core.exceptions import ValidationError

from bandops.lib.accounts.models import User
from bandops.lib.dates import day_words
from bandops.lib.imports.kinds import ImportKind, register
from bandops.lib.imports.plan import Action, Fault, Line, Mapped, Plan, Record
from bandops.lib.imports.values import parse_date, parse_decimal, parse_list, parse_time
from bandops.lib.imports.words import UnknownWord, Vocabulary, word_key
from bandops.lib.names import plain
from drill.absences.enums import AbsenceKind, AbsenceState, ReasonCategory
from drill.absences.imports.absence_columns import CATEGORIES, COLUMN_OF, COLUMNS
from drill.absences.imports.absence_words import EVENT, KINDS, STATES
from drill.absences.imports.for_all import FOR_ALL
from drill.absences.imports.headings import list_of_absences
from drill.absences.imports.written import proposals, with_readings
from drill.absences.models import Absence
from drill.absences.services.written import segments_meant
from drill.events.models import Event, Segment
from roster.people.lookup import MemberIndex
from roster.people.models import Season

Values = dict[str, Any]


def plan(mapped: Mapped, season: Season, actor: User) -> Plan:
    """Every row becomes an entry, unless the same entry is there already, as often as it comes."""
    mapped, faults, warnings = with_readings(mapped, season)
    result = Plan(faults=faults, warnings=warnings)
    members = MemberIndex(season, mapped.words.of("member"))
    events: dict[str, list[Event]] = {}
    for event in Event.objects.filter(season=season).prefetch_related("segments"):
        events.setdefault(plain(event.name), []).append(event)
    there = Counter(_identity(a) for a in Absence.objects.filter(member__season=season))
    rows = ((r, _values(result, r, members, events)) for r in mapped.records())
    for record, absence in _entries(rows, actor):
        same = there[_identity(absence)] > 0
        there[_identity(absence)] -= 1
        if not same:
            result.faults += _contradictions(record, absence)
        result.basis.append(_identity(absence))
        label = f"{absence.member}: {absence.get_kind_display()}, {_when(absence)}"

        def do(absence: Absence = absence, same: bool = same) -> None:
            if not same:
                absence.full_clean()
                absence.save()

        action = Action.SAME if same else Action.ADD
        result.lines.append(Line(record.number, action, label, (), do))
    return result


def _entries(
    rows: Iterable[tuple[Record, Values | None]], actor: User
) -> Iterator[tuple[Record, Absence]]:
    """One entry a row, or one for each segment that it names."""
    for record, values in rows:
        if values is not None:
            rest = {key: value for key, value in values.items() if key != "segments"}
            for segment in values["segments"] or (None,):
                yield record, Absence(reported_by=actor, segment=segment, **rest)


def _contradictions(record: Record, absence: Absence) -> list[Fault]:
    try:
        absence.clean()
    except ValidationError as error:
        said = error.message_dict.items()
        return [record.fault(COLUMN_OF.get(n, n), text) for n, texts in said for text in texts]
    return []


def _identity(a: Absence) -> tuple[object, ...]:
    return (
        a.member_id, a.event_id, a.segment_id, a.from_date, a.until_date, a.kind,
        a.late_until, a.leaves_at, Decimal(a.chance).normalize(), a.category, a.review_date,
        a.state,
    )  # fmt: skip


def _when(absence: Absence) -> str:
    if absence.event:
        return f"{absence.event}{f', {absence.segment}' if absence.segment else ''}"
    first, last = absence.from_date, absence.until_date
    return f"{day_words(first) if first else ''} to {day_words(last) if last else 'open'}"


def _values(
    result: Plan, record: Record, members: MemberIndex, events: dict[str, list[Event]]
) -> Values | None:
    before = len(result.faults)

    def attempt(key: str, parse: Any) -> Any:
        try:
            return parse(record[key])
        except ValueError as error:
            result.faults.append(record.fault(key, error))
            return None

    def fault(key: str, problem: str | ValueError) -> None:
        result.faults.append(record.fault(key, problem))

    def choice(key: str, words: Vocabulary, default: str) -> str:
        message = f"“{record[key]}” is not one of {', '.join(words.labels)}."
        known = record.mapped.words.of(words.kind)
        found = attempt(key, lambda t: words.find(t, known, message)) if record[key] else default
        return str(found)

    kind = choice("kind", KINDS, AbsenceKind.OUT.value)
    category = CATEGORIES.get(record["category"].lower(), record["category"].lower())
    if category not in ReasonCategory.values:
        fault("category", "Only health, class, family, travel, conduct or other: no diagnosis.")
    values: Values = {
        "member": attempt("member", members.find),
        "kind": kind,
        "category": category,
        "state": choice("state", STATES, AbsenceState.CONFIRMED.value),
        "from_date": attempt("from", parse_date),
        "until_date": attempt("until", parse_date),
        "late_until": attempt("late_until", parse_time),
        "leaves_at": attempt("leaves_at", parse_time),
        "review_date": attempt("review_date", parse_date),
        "chance": attempt("chance", lambda t: _chance(t, kind)),
    }
    event = _event(record, events, fault, values)
    values["event"], values["segments"] = event, _segments(record, event, fault)
    if event is not None:
        values["from_date"] = values["until_date"] = None
    _check_times(record, values, fault)
    return values if len(result.faults) == before else None


def _check_times(record: Record, values: Values, fault: Any) -> None:
    """What an entry must say of its time, and what contradicts itself."""
    if record["segment"] and not record["event"]:
        fault("segment", "Choose the event for that segment.")
    if values["event"] is None and not record["event"] and values["from_date"] is None:
        fault("event", "Give an event or a first day.")
    start, end = values["from_date"], values["until_date"]
    if start and end and end < start:
        fault("until", "The last day is before the first.")
    for needed, column in (("late", "late_until"), ("leaves", "leaves_at")):
        if values["kind"] == needed and values[column] is None and not record[column]:
            fault(column, "This time is missing.")


def _chance(text: str, kind: str) -> Decimal:
    doubtful = kind == AbsenceKind.DOUBTFUL
    if not text.strip():
        return Decimal("0.5") if doubtful else Decimal(1)
    if not doubtful:
        raise ValueError("Only doubtful has a chance: write doubtful under kind.")
    value = parse_decimal(text)
    if not 0 <= value <= 1:
        raise ValueError(f"“{text}” is not between 0 and 1.")
    return round(value, 2)


def _event(
    record: Record, events: dict[str, list[Event]], fault: Any, values: Values
) -> Event | None:
    if not record["event"]:
        return None
    meant = record.mapped.words.of(EVENT).get(word_key(record["event"]), record["event"])
    all_named = named = events.get(plain(meant), [])
    day, last = values["from_date"], values["until_date"]
    if day is not None:
        named = [e for e in named if e.date == day]
    if len(named) > 1:
        message = f"{len(named)} events are called {record['event']}: add the day in “from”."
        fault("event", message)
        return None
    if not named:
        known = ", ".join(day_words(e.date) for e in all_named)
        message = f"No event “{record['event']}” this season."
        unknown = UnknownWord(EVENT, record["event"], message)
        fault(
            "event",
            f"{record['event']} is on {known}, not {day_words(day)}." if all_named else unknown,
        )
        return None
    if last is not None and last != named[0].date:
        fault("until", "Give an event or dates, not both.")
    return named[0]


def _segments(record: Record, event: Event | None, fault: Any) -> list[Segment]:
    if not record["segment"] or event is None:
        return []
    named = segments_meant([record["segment"]], event)
    found = named or segments_meant(parse_list(record["segment"]), event)
    if not found:
        fault("segment", f"{event} has no segment “{record['segment']}”.")
    return found or []


KIND = register(
    ImportKind(
        "absences",
        "Absences",
        "One row per absence. The latest entry counts; nothing is overwritten. "
        "Never write a diagnosis.",
        COLUMNS,
        plan,
        order=6,
        layout=list_of_absences,
        proposer=proposals,
        for_all=FOR_ALL,
    )
)
