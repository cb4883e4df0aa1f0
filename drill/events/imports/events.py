"""Import of events: one row a segment."""

from __future__ import annotations

import datetime
from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Any
from zoneinfo import ZoneInfo

from django.core.exceptions import ValidationError

from bandops.lib.accounts.models import User
from bandops.lib.dates import day_words, value_words
from bandops.lib.imports.kinds import ImportKind, register
from bandops.lib.imports.plan import (
    Action,
    FieldChange,
    Line,
    Mapped,
    Plan,
    Record,
    too_long,
)
from bandops.lib.imports.values import parse_date, parse_moment, parse_time, parse_whole
from bandops.lib.names import clean_name, plain
from bandops.lib.validators import validate_time_zone
from drill.events.enums import EventKind, SegmentKind
from drill.events.imports.event_columns import COLUMNS, DEFAULTS, FIELDS, LONGEST
from drill.events.models import MOST_TRAVELLERS, Event, Segment
from drill.field import queries as field_queries
from drill.shows.models import Show
from roster.people.models import Season


def plan(mapped: Mapped, season: Season, actor: User) -> Plan:
    """Events by name and date, segments by name."""
    return _Planner(season).plan(mapped)


@dataclass
class Group:
    """The rows of one event: what they say of the event, by field, and their segments."""

    given: dict[str, Any] = field(default_factory=dict)
    said_in: dict[str, int] = field(default_factory=dict)
    segments: list[tuple[Record, dict[str, Any]]] = field(default_factory=list)


class _Planner:
    def __init__(self, season: Season) -> None:
        self.season = season
        self.result = Plan()
        events = Event.objects.filter(season=season).prefetch_related("segments__show")
        self.events = {(plain(e.name), e.date): e for e in events}
        self.shows = {plain(s.name): s for s in Show.objects.filter(season=season)}
        self.fields = {plain(name): name for name in field_queries.field_types(season)}
        self.zones: set[str] = set()
        self.groups: dict[tuple[str, datetime.date], Group] = {}

    def plan(self, mapped: Mapped) -> Plan:
        for record in mapped.records():
            self._read(record)
        if not self.result.faults:
            for group in self.groups.values():
                self.result.lines += self._lines(mapped, group)
            self.result.lines.sort(key=lambda line: line.row)
        return self.result

    def _read(self, record: Record) -> None:
        self.result.faults += too_long(record, LONGEST)
        given = self._event(record)
        segment = self._segment(record)
        if given["name"] and given["date"]:
            group = self.groups.setdefault((plain(given["name"]), given["date"]), Group())
            self._merge(record, group, given)
            self._check(record, group, segment)
            group.segments.append((record, segment))

    def _event(self, record: Record) -> dict[str, Any]:
        return {
            "name": self._needed(record, "event"),
            "kind": self._choice(record, "kind", EventKind.values),
            "venue": record["venue"],
            "date": self._needed_value(record, "date", parse_date),
            "time_zone": self._try(record, "time_zone", self._zone),
            "call_time": self._try(record, "call_time", parse_time),
            "cut_off": self._try(record, "cut_off", parse_moment),
            "travel_limit": self._try(
                record,
                "travel_limit",
                lambda t: parse_whole(t, least=1, most=MOST_TRAVELLERS) if t else None,
            ),
            "dress": record["dress"],
            "field_type": self._field(record),
        }

    def _segment(self, record: Record) -> dict[str, Any]:
        kind = self._choice(record, "segment_kind", SegmentKind.values)
        if not record["segment_kind"]:
            self._fault(record, "segment_kind", "This is missing.")
        return {
            "name": self._needed(record, "segment"),
            "kind": kind,
            "starts": self._needed_value(record, "starts", parse_time),
            "ends": self._needed_value(record, "ends", parse_time),
            "show": clean_name(record["show"]),
        }

    def _merge(self, record: Record, group: Group, given: dict[str, Any]) -> None:
        """A cell may be empty in all rows but one; two rows may not contradict each other."""
        for name, value in given.items():
            if value in (None, "") or (name in ("name", "date") and name in group.given):
                continue
            known = group.given.setdefault(name, value)
            row = group.said_in.setdefault(name, record.number)
            if known != value:
                column = next(k for k, n in FIELDS.items() if n == name)
                message = f"{given['name']} has another {name.replace('_', ' ')} in row {row}."
                self._fault(record, column, message)

    def _check(self, record: Record, group: Group, segment: dict[str, Any]) -> None:
        if segment["starts"] and segment["ends"] and segment["ends"] <= segment["starts"]:
            self._fault(record, "ends", "The segment ends before it starts.")
        if plain(segment["name"]) in {plain(s["name"]) for _, s in group.segments}:
            self._fault(record, "segment", f"{segment['name']} comes twice in {record['event']}.")

    def _fault(self, record: Record, key: str, message: str) -> None:
        self.result.faults.append(record.fault(key, message))

    def _needed(self, record: Record, key: str) -> str:
        if not plain(record[key]):
            self._fault(record, key, "This is missing.")
        return clean_name(record[key])

    def _needed_value(self, record: Record, key: str, parse: Any) -> Any:
        if not record[key]:
            self._fault(record, key, "This is missing.")
        return self._try(record, key, parse)

    def _try(self, record: Record, key: str, parse: Any) -> Any:
        try:
            return parse(record[key])
        except ValidationError as error:
            self._fault(record, key, str(error.message))
        except ValueError as error:
            self._fault(record, key, str(error))
        return None

    def _zone(self, name: str) -> str:
        if name and name not in self.zones:
            validate_time_zone(name)
            self.zones.add(name)
        return name

    def _choice(self, record: Record, key: str, values: list[str]) -> str:
        text = record[key].lower()
        if text and text not in values:
            self._fault(record, key, f"“{record[key]}” is not one of {', '.join(values)}.")
        return text

    def _field(self, record: Record) -> str:
        text = record["field"]
        if text and plain(text) not in self.fields:
            names = ", ".join(self.fields.values())
            self._fault(record, "field", f"“{text}” is not one of {names}.")
        return self.fields.get(plain(text), "")

    def _lines(self, mapped: Mapped, group: Group) -> list[Line]:
        name, date = group.given["name"], group.given["date"]
        event = self.events.get((plain(name), date))
        is_new = event is None
        values = self._values(mapped, group, event)
        event = event or Event(season=self.season)
        there = [] if is_new else list(event.segments.all())
        known = {plain(s.name): s for s in there}
        order = max((s.order for s in there), default=0)
        changes = [] if is_new else _differences(event, values)
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
            differ = _differences(target, wanted)
            action = Action.ADD if segment is None else Action.SAME
            if action is Action.SAME and (differ or changes):
                action = Action.CHANGE
            label = f"{name}, {day_words(date)}: {wanted['name']}"
            do = _writer(action, event, values, target, wanted)
            lines.append(Line(record.number, action, label, (*changes, *differ), do))
            changes = []
        return lines

    def _values(self, mapped: Mapped, group: Group, event: Event | None) -> dict[str, Any]:
        """The event's values: the file's; where it has no such column, those that are there."""
        defaults = {**DEFAULTS, "time_zone": self.season.time_zone}
        values = {
            name: group.given.get(name, defaults.get(name))
            for key, name in FIELDS.items()
            if event is None or key in mapped.mapping
        }
        zone = values.get("time_zone") or (event.time_zone if event else "")
        cut_off = values.get("cut_off")
        if cut_off is not None:
            values["cut_off"] = _in_zone(cut_off, zone)
        return values

    def _show(self, name: str) -> Show | None:
        if not name:
            return None
        return self.shows.setdefault(plain(name), Show(season=self.season, name=name))


def _writer(
    action: Action, event: Event, values: dict[str, Any], segment: Segment, wanted: dict[str, Any]
) -> Callable[[], None]:
    def do() -> None:
        if action is Action.SAME:
            return
        for name, value in values.items():
            setattr(event, name, value)
        event.full_clean(exclude=["must_travel"])
        event.save()
        show = wanted.get("show")
        if show is not None and show.pk is None:
            show.save()
        for name, value in wanted.items():
            setattr(segment, name, value)
        segment.event = event
        segment.full_clean()
        segment.save()

    return do


def _in_zone(moment: datetime.datetime, zone: str) -> datetime.datetime:
    return moment if moment.tzinfo else moment.replace(tzinfo=ZoneInfo(zone))


def _differences(target: Event | Segment, values: dict[str, Any]) -> list[FieldChange]:
    found = []
    for name, value in values.items():
        old = getattr(target, name, None)
        if old != value and (old or value):
            found.append(
                FieldChange(
                    name.replace("_", " "), value_words(old or ""), value_words(value or "")
                )
            )
    return found


KIND = register(
    ImportKind(
        "events",
        "Events",
        "One row a segment: pregame, halftime, parade, stands, duty.",
        COLUMNS,
        plan,
        order=5,
    )
)
