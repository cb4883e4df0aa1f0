"""Import of events: one row a segment, or one row an event."""

from __future__ import annotations

import datetime
from dataclasses import dataclass, field
from typing import Any
from zoneinfo import ZoneInfo

from bandops.lib.accounts.models import User
from bandops.lib.clocks import length_fault
from bandops.lib.dates import day_words
from bandops.lib.imports.columns import too_long
from bandops.lib.imports.kinds import ImportKind, register
from bandops.lib.imports.plan import Action, FieldChange, Line, Mapped, Plan, Record
from bandops.lib.imports.words import Words
from bandops.lib.names import plain
from drill.events.imports.event_changes import differences, event_writer, writer_of
from drill.events.imports.event_clock import EventClock
from drill.events.imports.event_columns import COLUMNS, DEFAULTS, FIELDS, LONGEST
from drill.events.imports.event_rows import RowReader
from drill.events.imports.event_times import propose_times
from drill.events.models import Event, Segment
from drill.shows.models import Show
from roster.people.models import Season


def plan(mapped: Mapped, season: Season, actor: User) -> Plan:
    """Events by name and date, segments by name."""
    return _Planner(season, mapped.words).plan(mapped)


@dataclass
class Group:
    """The rows of one event: what they say of the event, by field, and their segments."""

    first: Record
    given: dict[str, Any] = field(default_factory=dict)
    said_in: dict[str, Record] = field(default_factory=dict)
    segments: list[tuple[Record, dict[str, Any]]] = field(default_factory=list)

    @property
    def key(self) -> tuple[str, datetime.date]:
        return plain(self.given["name"]), self.given["date"]


class _Planner:
    def __init__(self, season: Season, words: Words) -> None:
        self.season = season
        self.result = Plan()
        self.reader = RowReader(season, self.result, words)
        events = Event.objects.filter(season=season).prefetch_related("segments__show")
        self.events = {(plain(e.name), e.date): e for e in events}
        self.shows = {plain(s.name): s for s in Show.objects.filter(season=season)}
        self.groups: dict[tuple[str, datetime.date], Group] = {}

    def plan(self, mapped: Mapped) -> Plan:
        for record in mapped.records():
            self._read(record)
        for group in self.groups.values():
            self._tell_kind(mapped, group)
            self._propose(group)
            self._read_clock(mapped, group)
        if not self.result.faults:
            for group in self.groups.values():
                self.result.lines += self._lines(mapped, group)
            self.result.lines.sort(key=lambda line: line.row)
        return self.result

    def _read(self, record: Record) -> None:
        self.result.faults += too_long(record, LONGEST)
        given = self.reader.event(record)
        event = self.events.get((plain(given["name"]), given["date"]))
        there = {plain(s.name): s.kind for s in event.segments.all()} if event else {}
        segments = self.reader.segments(record, there)
        if given["name"] and given["date"]:
            group = self.groups.setdefault((plain(given["name"]), given["date"]), Group(record))
            self._merge(record, group, given)
            for segment in segments:
                self._check(record, group, segment)
                group.segments.append((record, segment))

    def _merge(self, record: Record, group: Group, given: dict[str, Any]) -> None:
        """A cell may be empty in all rows but one; two rows may not contradict each other."""
        for name, value in given.items():
            if value in (None, "") or (name in ("name", "date") and name in group.given):
                continue
            known = group.given.setdefault(name, value)
            row = group.said_in.setdefault(name, record).number
            if known != value:
                column = next((k for k, n in FIELDS.items() if n == name), name)
                message = f"{given['name']} has another {name.replace('_', ' ')} in row {row}."
                self.reader.fault(record, column, message)

    def _check(self, record: Record, group: Group, segment: dict[str, Any]) -> None:
        if segment["starts"] and segment["ends"]:
            fault = length_fault(segment["starts"], segment["ends"])
            if fault:
                self.reader.fault(record, "ends", fault)
        if plain(segment["name"]) in {plain(s["name"]) for _, s in group.segments}:
            self.reader.fault(
                record, "segment", f"{segment['name']} comes twice in {record['event']}."
            )

    def _tell_kind(self, mapped: Mapped, group: Group) -> None:
        """The kind of a new event by its name, where the file has no column for it."""
        if "kind" in mapped.mapping or group.key in self.events:
            return
        kind = self.reader.kind_told(group.first, group.given["name"])
        if kind:
            group.given["kind"] = kind

    def _propose(self, group: Group) -> None:
        event = self.events.get(group.key)
        kind = group.given.get("kind") or (event.kind if event else DEFAULTS["kind"])
        there = list(event.segments.all()) if event else []
        self.result.warnings += propose_times(group.segments, there, group.given, kind)
        if not group.segments and not there:
            message = "This event has no segments: add them on its page."
            self.result.warnings.append(group.first.fault("event", message))

    def _lines(self, mapped: Mapped, group: Group) -> list[Line]:
        name, date = group.given["name"], group.given["date"]
        event = self.events.get(group.key)
        is_new = event is None
        values = self._values(mapped, group, event)
        event = event or Event(season=self.season)
        there = [] if is_new else list(event.segments.all())
        known = {plain(s.name): s for s in there}
        order = max((s.order for s in there), default=0)
        changes = (
            self._told(mapped, values) if is_new else differences(event, values, event, values)
        )
        if not group.segments:
            return [self._event_line(group, event, values, changes)]
        lines = []
        for record, wanted in group.segments:
            segment = known.get(plain(wanted["name"]))
            if segment is None:
                order += 1
            target = segment or Segment(order=order)
            if segment is None or record.has("show"):
                wanted["show"] = self._show(wanted["show"])
            else:
                del wanted["show"]
            differ = differences(target, wanted, event, values)
            action = Action.ADD if segment is None else Action.SAME
            if action is Action.SAME and (differ or changes):
                action = Action.CHANGE
            label = f"{name}, {day_words(date)}: {wanted['name']}"
            do = writer_of(action, event, values, target, wanted)
            lines.append(Line(record.number, action, label, (*changes, *differ), do))
            changes = []
        return lines

    def _told(self, mapped: Mapped, values: dict[str, Any]) -> list[FieldChange]:
        """What is new and stands in no column of the file."""
        told = "kind" not in mapped.mapping
        return [FieldChange("kind of event", "", values["kind"])] if told else []

    def _event_line(
        self, group: Group, event: Event, values: dict[str, Any], changes: list[FieldChange]
    ) -> Line:
        """The line of an event whose segments the file does not name."""
        action = Action.CHANGE if changes else Action.SAME
        action = Action.ADD if event.pk is None else action
        label = f"{group.given['name']}, {day_words(group.given['date'])}"
        do = event_writer(action, event, values)
        return Line(group.first.number, action, label, tuple(changes), do)

    def _values(self, mapped: Mapped, group: Group, event: Event | None) -> dict[str, Any]:
        """The event's values: the file's; where it has no such column, those that are there."""
        defaults = {**DEFAULTS, "time_zone": self.season.time_zone}
        values = {
            name: group.given.get(name, defaults.get(name))
            for key, name in FIELDS.items()
            if event is None or key in mapped.mapping
        }
        if "call_time" in values:
            values["call_fold"] = group.given.get("call_fold", False)
        return values

    def _read_clock(self, mapped: Mapped, group: Group) -> None:
        event = self.events.get(group.key)
        zone = group.given.get("time_zone") or self.season.time_zone
        if event is not None and "time_zone" not in mapped.mapping:
            zone = event.time_zone
        clock = EventClock(self.reader, group.given["date"], ZoneInfo(zone))
        clock.read_event(group.given, group.said_in)
        for record, segment in group.segments:
            clock.read_segment(record, segment)

    def _show(self, name: str) -> Show | None:
        if not name:
            return None
        return self.shows.setdefault(plain(name), Show(season=self.season, name=name))


KIND = register(
    ImportKind(
        "events",
        "Events",
        "One row per segment (pregame, halftime, parade, stands, duty), or one row per event with "
        "its segments in one cell. Missing times are suggested.",
        COLUMNS,
        plan,
        order=5,
        together=("event", "date"),
    )
)
