"""Rows of coordinates, cell by cell: what cannot be read is told and does not stop the rest."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from typing import TypeVar

from bandops.lib.imports.columns import SHEET_ERRORS, too_long
from bandops.lib.imports.plan import Mapped, Plan, Record
from bandops.lib.imports.tables import Oddity
from bandops.lib.imports.values import looks_like_date
from bandops.lib.names import clean_name, plain
from drill.field import queries as field_queries
from drill.field.services.entering import Entry, entry_of, off_field
from drill.shows.imports.dot_labels import DotLabels
from drill.shows.imports.set_lines import numbers_of
from drill.shows.models import Show, ShowVersion
from roster.people.models import Season

T = TypeVar("T")
LONGEST = {"show": 100, "version": 60, "set": 20, "dot": 30}
MISSING = {
    "show": "The show is missing: write its name, or a line “Show: its name” above the table.",
    "set": "The set is missing: write its label, such as 2 or 2A.",
    "dot": "The dot is missing: write its label, such as 1-4.",
    "x": "This is missing: write steps from the 50, or words such as “side 1, 3.5 outside the 40”.",
    "y": "This is missing: write steps from the front sideline, or words such as “6 behind the "
    "front hash”.",
    "coordinate": "This is missing: write it as “side 1, 3.5 outside the 40, 6 behind the front "
    "hash”.",
}


@dataclass(frozen=True)
class Point:
    """One row of the file; ``x`` and ``y`` are None where they cannot be read.

    ``unread`` are the other cells that cannot be; ``faulty`` is a row with any fault.
    """

    record: Record
    set: str
    dot: str
    x: int | None
    y: int | None
    numbers: dict[str, int]
    unread: frozenset[str]
    faulty: bool


@dataclass
class Draft:
    """A version as the file gives it."""

    show: Show
    label: str
    version: ShowVersion | None = None
    points: list[Point] = field(default_factory=list)
    totals: list[Record] = field(default_factory=list)


class Reader:
    """Sorts rows to the versions they belong to, and reads their coordinates."""

    def __init__(self, result: Plan, mapped: Mapped, season: Season) -> None:
        self.result, self.mapped, self.season = result, mapped, season
        self.fields = field_queries.field_types(season)
        self.shows = {plain(s.name): s for s in Show.objects.filter(season=season)}
        versions = ShowVersion.objects.filter(show__season=season).select_related("show")
        self.versions = {(v.show_id, v.label): v for v in versions}
        self.labels = DotLabels(season)
        self.drafts: dict[tuple[str, str], Draft] = {}
        self.entries: dict[str, Entry] = {}
        self.other_fields: set[tuple[str, str]] = set()

    def read(self) -> list[Draft]:
        """A row without its show is taken for one of the show above it, so that nothing else is
        told of it."""
        loose = []
        records = list(self.mapped.records())
        name = next((found for r in records if (found := clean_name(r["show"]))), "")
        for record in records:
            if _is_total(record) and not record["show"]:
                loose.append(record)
                continue
            before = len(self.result.faults)
            named = clean_name(record["show"])
            if not named and record.has("show"):
                self._missing(record, "show")
            name = named or name
            self._row(record, name, before)
        if len(self.drafts) == 1:
            next(iter(self.drafts.values())).totals += loose
        return list(self.drafts.values())

    def _missing(self, record: Record, key: str) -> None:
        self.result.faults.append(record.fault(key, MISSING[key]))

    def _row(self, record: Record, name: str, before: int) -> None:
        """``before`` is how many faults there were above the row."""
        faults = self.result.faults
        faults += too_long(record, LONGEST)
        draft = self._draft(record, name)
        if _is_total(record):
            draft.totals.append(record)
            return
        entry = self._field(record, draft.show)
        unread = self._unread_labels(record)
        numbers, figures = numbers_of(self.result, record)
        x, y = self._coordinate(record, entry)
        draft.points.append(
            Point(
                record,
                record["set"],
                self.labels.meant(draft.show, record["dot"]),
                x,
                y,
                numbers,
                unread | figures,
                len(faults) > before,
            )
        )

    def _draft(self, record: Record, name: str) -> Draft:
        key = (plain(name), record["version"] or "1")
        if key not in self.drafts:
            show = self.shows.get(key[0])
            if show is None:
                show = Show(season=self.season, name=name)
                if record["field"] in self.fields:
                    show.field_type = record["field"]
                self.shows[key[0]] = show
            self.drafts[key] = Draft(show, key[1], self.versions.get((show.pk, key[1])))
        return self.drafts[key]

    def _field(self, record: Record, show: Show) -> Entry:
        name = record["field"] or show.field_type
        if name != show.field_type:
            if name not in self.fields:
                message = f"No field is called “{name}”: {', '.join(self.fields)}."
                self.result.faults.append(record.fault("field", message))
                name = show.field_type
            elif (show.name, name) not in self.other_fields:
                self.other_fields.add((show.name, name))
                message = f"{show} is written for {show.field_type}: words are read on {name}."
                self.result.warnings.append(record.fault("field", message))
        if name not in self.entries:
            self.entries[name] = entry_of(self.season, name)
        return self.entries[name]

    def _unread_labels(self, record: Record) -> frozenset[str]:
        unread = set()
        for key in ("set", "dot"):
            cell = record.cell(key)
            if not record.has(key):
                unread.add(key)
            elif not cell.text:
                self._missing(record, key)
                unread.add(key)
            elif cell.oddity is Oddity.DATE or looks_like_date(cell.text):
                message = f"“{cell.text}” looks like a date that a spreadsheet made of a label "
                message += "such as 5-11."
                self.result.faults.append(record.fault(key, message))
                unread.add(key)
            elif cell.text in SHEET_ERRORS:  # told for every kind of file
                unread.add(key)
        return frozenset(unread)

    def _coordinate(self, record: Record, entry: Entry) -> tuple[int | None, int | None]:
        """Both directions, from one cell or two."""
        apart = record["x"] or record["y"] or not record.has("coordinate")
        if apart or (not record["coordinate"] and record.has("x") and record.has("y")):
            x = self._read(record, "x", entry.across)
            y = self._read(record, "y", entry.depth)
            self._warn_off_field(record, ("x", "y"), x, y)
            return x, y
        at = self._read(record, "coordinate", entry.writer.parse)
        if at is None:
            return None, None
        self._warn_off_field(record, ("coordinate", "coordinate"), *at)
        return at

    def _read(self, record: Record, key: str, read: Callable[[str], T]) -> T | None:
        """None for what is not there; of a column that the whole file lacks it is told once."""
        if not record[key]:
            if record.has(key) or record.has("coordinate"):
                self._missing(record, key)
            return None
        try:
            return read(record[key])
        except ValueError as error:
            self.result.faults.append(record.fault(key, error))
            return None

    def _warn_off_field(
        self, record: Record, keys: tuple[str, str], x: int | None, y: int | None
    ) -> None:
        for key, off in zip(keys, (off_field(x or 0, 0), off_field(0, y or 0)), strict=True):
            if off:
                unit = "" if any(c.isalpha() for c in record[key]) else " steps"
                message = f"{record[key]}{unit} is off the field."
                self.result.warnings.append(record.fault(key, message))


def _is_total(record: Record) -> bool:
    """A closing line of totals: a figure for no set."""
    others = ("set", "x", "y", "coordinate", "counts")
    return bool(record["total"]) and not any(record[key] for key in others)
