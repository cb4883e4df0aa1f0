"""Columns of the import of events."""

from __future__ import annotations

from bandops.lib.imports.holding import looks_like_day
from bandops.lib.imports.plan import Column
from drill.events.enums import EventKind
from drill.field.enums import FieldType

COLUMNS = (
    Column(
        "event",
        "event",
        "its name; repeated with its date in the row of each segment, the rest once or each time",
        True,
        ("name", "event name", "title", "what", "what is on", "opponent"),
    ),
    Column(
        "kind",
        "kind",
        "game, parade, trip or rehearsal; game when empty; without the column the name tells it",
        False,
        ("type",),
    ),
    Column("venue", "venue", "", False, ("where", "location")),
    Column("date", "date", "2026-10-17", True, ("day", "event date", "when"), looks_like_day),
    Column("time_zone", "time zone", "such as America/Chicago; the band's own when empty"),
    Column(
        "call_time",
        "call time",
        "19:30 or 7:30 pm",
        False,
        ("call", "called", "call at", "report time", "report"),
    ),
    Column(
        "kick_off",
        "kick-off",
        "when the game, parade or rehearsal begins: times of segments are proposed around it",
        False,
        ("kickoff", "kick off time", "kickoff time", "game time", "step off"),
    ),
    Column("cut_off", "cut-off", "2026-10-16 18:00: after it only the director changes lineups"),
    Column("travel_limit", "travel limit", "how many people may travel", False, ("limit",)),
    Column("uniform", "uniform", "what is worn", False, ("dress",)),
    Column(
        "field",
        "field",
        "60 ft, 53 ft 4 in, 70 ft 9 in, or a field of the band's own",
        False,
        ("field type", "hashes"),
    ),
    Column(
        "segment",
        "segment",
        "such as Halftime, or several in one cell: pregame, halftime",
        False,
        ("segments", "parts", "parts of it", "part", "segment name"),
    ),
    Column(
        "segment_kind",
        "segment kind",
        "pregame, halftime, parade, stands or duty; the segment's name tells it when empty",
    ),
    Column(
        "starts",
        "starts",
        "19:30 or 7:30 pm; times are proposed when empty",
        False,
        ("start", "from", "start time"),
    ),
    Column(
        "ends",
        "ends",
        "19:50 or 7:50 pm; at or before the start: after midnight",
        False,
        ("end", "until", "end time"),
    ),
    Column("show", "show", "the drill that is marched; made when new"),
)
FIELDS = {
    "event": "name",
    "kind": "kind",
    "venue": "venue",
    "date": "date",
    "time_zone": "time_zone",
    "call_time": "call_time",
    "cut_off": "cut_off",
    "travel_limit": "travel_limit",
    "uniform": "uniform",
    "field": "field_type",
}
"""column -> field of the event"""
DEFAULTS = {
    "kind": EventKind.GAME.value,
    "field_type": FieldType.HASH_60.value,
    "venue": "",
    "uniform": "",
}
LONGEST = {"event": 100, "venue": 100, "uniform": 200, "show": 100}
