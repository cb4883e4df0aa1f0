"""Times of imported events: which moment each means by the event's clock."""

from __future__ import annotations

import datetime
from dataclasses import dataclass
from typing import Any
from zoneinfo import ZoneInfo

from bandops.lib.clocks import is_missing, next_day, passes_midnight, question, readings
from bandops.lib.dates import dated_words, zone_words
from bandops.lib.imports.plan import Record
from drill.events.imports.event_rows import RowReader


@dataclass(frozen=True)
class EventClock:
    """One event's day and zone; a time that is there twice or not at all is a fault, unless its
    cell says which of the two is meant, as in '1:30 AM EDT'."""

    reader: RowReader
    day: datetime.date
    zone: ZoneInfo

    def read_event(self, given: dict[str, Any], said_in: dict[str, Record]) -> None:
        """Turn the cut-off into its moment, and say which call is meant."""
        cut_off = given.get("cut_off")
        if cut_off is not None and cut_off.tzinfo is None:
            moment = self._moment(said_in["cut_off"], "cut_off", cut_off)
            # In UTC: a time that comes twice equals no moment of another zone.
            given["cut_off"] = moment and moment.astimezone(datetime.UTC)
        if given.get("call_time") is not None:
            self._time(said_in["call_time"], "call_time", self.day, given, "call_fold")

    def read_segment(self, record: Record, segment: dict[str, Any]) -> None:
        """Say which start and end are meant; one past midnight ends on the next day."""
        starts, ends = segment.get("starts"), segment.get("ends")
        if starts is None or ends is None:
            return
        last = next_day(self.day) if passes_midnight(starts, ends) else self.day
        self._time(record, "starts", self.day, segment, "starts_fold")
        self._time(record, "ends", last, segment, "ends_fold")

    def _time(
        self, record: Record, key: str, day: datetime.date, values: dict[str, Any], fold: str
    ) -> None:
        moment = self._moment(record, key, datetime.datetime.combine(day, values[key]))
        values[fold] = moment is not None and bool(moment.fold)

    def _moment(
        self, record: Record, key: str, local: datetime.datetime
    ) -> datetime.datetime | None:
        letters = self.reader.letters.get((record.number, key), "")
        found = {zone_words(moment): moment for moment in readings(local, self.zone)}
        if letters in found and not is_missing(local, self.zone):
            return found[letters]
        if len(found) > 1:
            self.reader.fault(record, key, question(local, self.zone))
            return None
        ((known, moment),) = found.items()
        if letters:
            message = f"The event's clock shows {known} on {dated_words(local)}, not {letters}."
            self.reader.fault(record, key, message)
        return moment
