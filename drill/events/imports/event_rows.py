"""One row of the import of events: what it says of the event and of its segments."""

from __future__ import annotations

import datetime
from collections.abc import Mapping
from typing import Any

from django.core.exceptions import ValidationError

from bandops.lib.imports.days import parse_day
from bandops.lib.imports.plan import Plan, Record
from bandops.lib.imports.values import (
    parse_moment,
    parse_time,
    parse_whole,
    split_zone,
)
from bandops.lib.imports.words import UnknownWord, Vocabulary, Words, word_key
from bandops.lib.names import clean_name, plain
from bandops.lib.zones import read_zone
from drill.events.imports.event_guesses import (
    NAME_WORD,
    kind_told,
    segment_kind,
    segment_names,
)
from drill.events.imports.event_words import FIELD, KINDS, SEGMENT_KINDS
from drill.events.imports.small_hours import daytime
from drill.events.models import MOST_TRAVELLERS
from drill.field import queries as field_queries
from roster.people.models import Season

LONGEST_SEGMENT = 60
NOT_YET = frozenset(["tba", "tbd", "tbc"])
"""what stands for a time that nobody knows yet"""


class RowReader:
    """Reads rows one by one; faults go to the plan."""

    def __init__(self, season: Season, result: Plan, words: Words) -> None:
        self.season, self.result, self.words = season, result, words
        self.fields = {plain(name): name for name in field_queries.field_types(season)}
        self.letters: dict[tuple[int, str], str] = {}
        """(row, column) -> the letters of a zone that follow its time"""

    def event(self, record: Record) -> dict[str, Any]:
        """What the row says of its event, by field."""
        return {
            "name": self._needed(record, "event"),
            "kind": self._choice(record, "kind", KINDS),
            "venue": record["venue"],
            "date": self._needed_value(record, "date", self._day),
            "time_zone": self._try(record, "time_zone", lambda t: read_zone(t) if t else ""),
            "call_time": self._time(record, "call_time"),
            "kick_off": self._time(record, "kick_off"),
            "cut_off": self._clock(record, "cut_off", parse_moment),
            "travel_limit": self._try(
                record,
                "travel_limit",
                lambda t: parse_whole(t, least=1, most=MOST_TRAVELLERS) if t else None,
            ),
            "uniform": record["uniform"],
            "field_type": self._field(record),
        }

    def segments(self, record: Record, there: Mapping[str, str]) -> list[dict[str, Any]]:
        """What the row says of its segments, by field: none, one, or the several of one cell.

        ``there`` are the kinds of the segments that the event has, by name.
        """
        if not any(record[key] for key in ("segment", "segment_kind", "ends", "show")):
            return []
        timed = bool(record["segment_kind"] or record["ends"])
        names = [] if timed else segment_names(record["segment"])
        if len(names) < 2:
            name = names[0] if names else self._needed(record, "segment")
            return [self._segment(record, name, there)]
        found = [self._segment(record, name, there) for name in names]
        return [it | {"starts": None, "all_from": it["starts"]} for it in found]

    def _segment(self, record: Record, name: str, there: Mapping[str, str]) -> dict[str, Any]:
        if len(name) > LONGEST_SEGMENT:
            self.fault(record, "segment", f"Longer than {LONGEST_SEGMENT} characters.")
        if record["ends"] and not record["starts"]:
            self.fault(record, "starts", "This is missing.")
        starts = self._time(record, "starts")
        return {
            "name": name,
            "kind": self._segment_kind(record, name, there),
            "starts": starts,
            "ends": self._time(record, "ends", starts),
            "show": clean_name(record["show"]),
        }

    def _segment_kind(self, record: Record, name: str, there: Mapping[str, str]) -> str:
        """As the row says, else as it is, else as the segment's name tells."""
        if not record["segment_kind"] and plain(name) in there:
            return there[plain(name)]
        if record["segment_kind"] or not name:
            return self._choice(record, "segment_kind", SEGMENT_KINDS)
        key = "segment_kind" if record.has("segment_kind") else "segment"
        known = self.words.of(SEGMENT_KINDS.kind)
        return self._try(record, key, lambda _: segment_kind(name, known)) or ""

    def kind_told(self, record: Record, name: str) -> str:
        """The kind of event that its name tells; empty for none."""
        known = self.words.of(NAME_WORD)
        return self._try(record, "event", lambda _: kind_told(name, known)) or ""

    def fault(self, record: Record, key: str, problem: str | ValueError) -> None:
        """A fault of the row's cell of a column."""
        self.result.faults.append(record.fault(key, problem))

    def _needed(self, record: Record, key: str) -> str:
        if not plain(record[key]):
            self.fault(record, key, "This is missing.")
        return clean_name(record[key])

    def _needed_value(self, record: Record, key: str, parse: Any) -> Any:
        if not record[key]:
            self.fault(record, key, "This is missing.")
        return self._try(record, key, parse)

    def _day(self, text: str) -> datetime.date | None:
        return parse_day(text, self.season.starts, self.season.ends)

    def _try(self, record: Record, key: str, parse: Any) -> Any:
        try:
            return parse(record[key])
        except ValidationError as error:
            self.fault(record, key, str(error.message))
        except ValueError as error:
            self.fault(record, key, error)
        return None

    def _clock(self, record: Record, key: str, parse: Any) -> Any:
        text, letters = split_zone("" if plain(record[key]) in NOT_YET else record[key])
        self.letters[record.number, key] = letters
        return self._try(record, key, lambda _: parse(text))

    def _time(
        self, record: Record, key: str, starts: datetime.time | None = None
    ) -> datetime.time | None:
        """A time of day; ``starts`` is given for an end."""
        found: datetime.time | None = self._clock(record, key, parse_time)
        if found is None:
            return None
        meant, told = daytime(record[key], found, starts)
        remark = record.fault(key, told)
        if told and remark not in self.result.warnings:
            self.result.warnings.append(remark)
        return meant

    def _choice(self, record: Record, key: str, words: Vocabulary) -> str:
        if not record[key]:
            return ""
        known = self.words.of(words.kind)
        message = f"“{record[key]}” is not one of {', '.join(words.labels)}."
        return self._try(record, key, lambda t: words.find(t, known, message)) or ""

    def _field(self, record: Record) -> str:
        return self._try(record, "field", self._field_named) or ""

    def _field_named(self, text: str) -> str:
        meant = self.words.of(FIELD).get(word_key(text), text)
        if text and plain(meant) not in self.fields:
            message = f"“{text}” is not one of {', '.join(self.fields.values())}."
            raise UnknownWord(FIELD, text, message)
        return self.fields.get(plain(meant), "")
