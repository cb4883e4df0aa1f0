"""Import of events: one row a segment."""

from __future__ import annotations

import datetime
from collections import defaultdict
from typing import Any
from zoneinfo import ZoneInfo

from django.core.exceptions import ValidationError

from bandops.lib.accounts.models import User
from bandops.lib.imports.kinds import ImportKind, register
from bandops.lib.imports.plan import Action, Column, FieldChange, Line, Mapped, Plan, Record
from bandops.lib.imports.values import parse_date, parse_moment, parse_time, parse_whole
from bandops.lib.names import clean_name, plain
from bandops.lib.validators import validate_time_zone
from drill.enums import EventKind, FieldType, SegmentKind
from drill.models import Event, Segment, Show
from roster.models import Season

COLUMNS = (
    Column("event", "event", "its name; repeated in the row of each segment", True, ("name",)),
    Column("kind", "kind", "game, parade, trip or rehearsal; game when empty", False, ("type",)),
    Column("venue", "venue", "", False, ("where", "location")),
    Column("date", "date", "2026-10-17", True, ("day",)),
    Column("time_zone", "time zone", "such as America/Chicago; the band's own when empty"),
    Column("call_time", "call time", "19:30 or 7:30 pm", False, ("call",)),
    Column("cut_off", "cut-off", "2026-10-16 18:00: after it only the director changes lineups"),
    Column("travel_limit", "travel limit", "how many people may travel", False, ("limit",)),
    Column("dress", "dress", "what is worn"),
    Column("field", "field", "60 ft, 53 ft 4 in or 70 ft 9 in", False, ("field type", "hashes")),
    Column("segment", "segment", "such as Halftime", True),
    Column("segment_kind", "segment kind", "pregame, halftime, parade, stands or duty", True),
    Column("starts", "starts", "19:30 or 7:30 pm", True, ("start", "from")),
    Column("ends", "ends", "19:50 or 7:50 pm", True, ("end", "until")),
    Column("show", "show", "the drill that is marched; made when new"),
)


def plan(mapped: Mapped, season: Season, actor: User) -> Plan:
    """Events by name and date, segments by name."""
    return _Planner(season).plan(mapped)


class _Planner:
    def __init__(self, season: Season) -> None:
        self.season = season
        self.result = Plan()
        events = Event.objects.filter(season=season).prefetch_related("segments__show")
        self.events = {(plain(e.name), e.date): e for e in events}
        self.shows = {plain(s.name): s for s in Show.objects.filter(season=season)}
        self.orders: dict[int, int] = defaultdict(int)
        self.names: set[tuple[str, datetime.date, str]] = set()

    def plan(self, mapped: Mapped) -> Plan:
        for record in mapped.records():
            before = len(self.result.faults)
            values, segment = self._values(record)
            if len(self.result.faults) == before:
                self.result.lines.append(self._line(record, values, segment))
        return self.result

    def _values(self, record: Record) -> tuple[dict[str, Any], dict[str, Any]]:
        zone = record["time_zone"] or self.season.time_zone
        self._try(record, "time_zone", lambda _: validate_time_zone(zone))
        event = {
            "name": self._needed(record, "event"),
            "kind": self._choice(record, "kind", EventKind.values, EventKind.GAME.value),
            "venue": record["venue"],
            "date": self._needed_value(record, "date", parse_date),
            "time_zone": zone,
            "call_time": self._try(record, "call_time", parse_time),
            "cut_off": self._try(record, "cut_off", lambda t: _in_zone(parse_moment(t), zone)),
            "travel_limit": self._try(
                record, "travel_limit", lambda t: parse_whole(t, least=1) if t else None
            ),
            "dress": record["dress"],
            "field_type": self._choice(record, "field", FieldType.values, FieldType.HASH_60.value),
        }
        segment = {
            "name": self._needed(record, "segment"),
            "kind": self._choice(record, "segment_kind", SegmentKind.values, ""),
            "starts": self._needed_value(record, "starts", parse_time),
            "ends": self._needed_value(record, "ends", parse_time),
            "show": clean_name(record["show"]),
        }
        self._check(record, event, segment)
        return event, segment

    def _check(self, record: Record, event: dict[str, Any], segment: dict[str, Any]) -> None:
        if segment["starts"] and segment["ends"] and segment["ends"] <= segment["starts"]:
            self._fault(record, "ends", "The segment ends before it starts.")
        key = (plain(event["name"]), event["date"], plain(segment["name"]))
        if key in self.names:
            self._fault(record, "segment", f"{segment['name']} comes twice in {event['name']}.")
        self.names.add(key)

    def _fault(self, record: Record, key: str, message: str) -> None:
        self.result.faults.append(record.fault(key, message))

    def _needed(self, record: Record, key: str) -> str:
        if not record[key]:
            self._fault(record, key, "This is missing.")
        return clean_name(record[key])

    def _needed_value(self, record: Record, key: str, parse: Any) -> Any:
        value = self._try(record, key, parse)
        if value is None and not record[key]:
            self._fault(record, key, "This is missing.")
        return value

    def _try(self, record: Record, key: str, parse: Any) -> Any:
        try:
            return parse(record[key])
        except ValidationError as error:
            self._fault(record, key, str(error.message))
        except ValueError as error:
            self._fault(record, key, str(error))
        return None

    def _choice(self, record: Record, key: str, values: list[str], default: str) -> str:
        text = record[key].strip().lower() or default
        if text not in values:
            self._fault(record, key, f"“{record[key]}” is not one of {', '.join(values)}.")
        return text

    def _line(self, record: Record, values: dict[str, Any], segment_values: dict[str, Any]) -> Line:
        key = (plain(values["name"]), values["date"])
        event = self.events.get(key)
        is_new = event is None or event.pk is None
        if event is None:
            event = self.events[key] = Event(season=self.season, **values)
        changes = [] if is_new else _differences(event, values)
        segment = None
        if not is_new:
            named = {plain(s.name): s for s in event.segments.all()}
            segment = named.get(plain(segment_values["name"]))
        show = self._show(segment_values["show"])
        wanted = {**segment_values, "show": show}
        if segment is not None:
            changes += _differences(segment, wanted)
        self.orders[id(event)] += 1
        order = self.orders[id(event)]
        action = Action.ADD if segment is None else Action.CHANGE if changes else Action.SAME
        target_event, target_segment = event, segment

        def do() -> None:
            if action is Action.SAME:
                return
            for name, value in values.items():
                setattr(target_event, name, value)
            target_event.full_clean(exclude=["must_travel"])
            target_event.save()
            if show is not None:
                show.save()
            piece = target_segment or Segment(event=target_event, order=order)
            for name, value in wanted.items():
                setattr(piece, name, value)
            piece.full_clean()
            piece.save()

        label = f"{values['name']}, {values['date']}: {segment_values['name']}"
        return Line(record.number, action, label, tuple(changes), do)

    def _show(self, name: str) -> Show | None:
        if not name:
            return None
        return self.shows.setdefault(plain(name), Show(season=self.season, name=name))


def _in_zone(moment: datetime.datetime | None, zone: str) -> datetime.datetime | None:
    if moment is None or moment.tzinfo is not None:
        return moment
    return moment.replace(tzinfo=ZoneInfo(zone))


def _differences(target: Event | Segment, values: dict[str, Any]) -> list[FieldChange]:
    found = []
    for name, value in values.items():
        old = getattr(target, name)
        if old != value:
            found.append(FieldChange(name.replace("_", " "), str(old or ""), str(value or "")))
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
