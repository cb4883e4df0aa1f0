"""One row of the import of events: what it says of the event and of its segment."""

from __future__ import annotations

from typing import Any

from django.core.exceptions import ValidationError

from bandops.lib.imports.plan import Plan, Record
from bandops.lib.imports.values import (
    parse_date,
    parse_moment,
    parse_time,
    parse_whole,
    split_zone,
)
from bandops.lib.imports.words import UnknownWord, Vocabulary, Words, word_key
from bandops.lib.names import clean_name, plain
from bandops.lib.zones import read_zone
from drill.events.imports.event_words import FIELD, KINDS, SEGMENT_KINDS
from drill.events.models import MOST_TRAVELLERS
from drill.field import queries as field_queries
from roster.people.models import Season


class RowReader:
    """Reads rows one by one; faults go to the plan."""

    def __init__(self, season: Season, result: Plan, words: Words) -> None:
        self.result, self.words = result, words
        self.fields = {plain(name): name for name in field_queries.field_types(season)}
        self.letters: dict[tuple[int, str], str] = {}
        """(row, column) -> the letters of a zone that follow its time"""

    def event(self, record: Record) -> dict[str, Any]:
        """What the row says of its event, by field."""
        return {
            "name": self._needed(record, "event"),
            "kind": self._choice(record, "kind", KINDS),
            "venue": record["venue"],
            "date": self._needed_value(record, "date", parse_date),
            "time_zone": self._try(record, "time_zone", lambda t: read_zone(t) if t else ""),
            "call_time": self._clock(record, "call_time", parse_time),
            "cut_off": self._clock(record, "cut_off", parse_moment),
            "travel_limit": self._try(
                record,
                "travel_limit",
                lambda t: parse_whole(t, least=1, most=MOST_TRAVELLERS) if t else None,
            ),
            "uniform": record["uniform"],
            "field_type": self._field(record),
        }

    def segment(self, record: Record) -> dict[str, Any]:
        """What the row says of its segment, by field."""
        kind = self._choice(record, "segment_kind", SEGMENT_KINDS)
        if not record["segment_kind"]:
            self.fault(record, "segment_kind", "This is missing.")
        return {
            "name": self._needed(record, "segment"),
            "kind": kind,
            "starts": self._needed_time(record, "starts"),
            "ends": self._needed_time(record, "ends"),
            "show": clean_name(record["show"]),
        }

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

    def _try(self, record: Record, key: str, parse: Any) -> Any:
        try:
            return parse(record[key])
        except ValidationError as error:
            self.fault(record, key, str(error.message))
        except ValueError as error:
            self.fault(record, key, error)
        return None

    def _needed_time(self, record: Record, key: str) -> Any:
        if not record[key]:
            self.fault(record, key, "This is missing.")
        return self._clock(record, key, parse_time)

    def _clock(self, record: Record, key: str, parse: Any) -> Any:
        text, letters = split_zone(record[key])
        self.letters[record.number, key] = letters
        return self._try(record, key, lambda _: parse(text))

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
