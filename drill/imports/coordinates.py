"""Import of coordinates, in numbers or words, from three layouts of sheets."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field
from typing import TypeVar

from bandops.lib.accounts.models import User
from bandops.lib.imports.kinds import ImportKind, register
from bandops.lib.imports.plan import (
    Action,
    Fault,
    FieldChange,
    Line,
    Mapped,
    Plan,
    Record,
    too_long,
)
from bandops.lib.imports.reading import Oddity
from bandops.lib.imports.values import looks_like_date
from bandops.lib.names import clean_name, plain
from drill import queries
from drill.imports.coordinate_columns import COLUMNS
from drill.imports.layouts import table_of
from drill.imports.set_lines import check_total, gather, in_order, lines_of, numbers_of
from drill.models import DrillSet, Place, Position, Show, ShowVersion
from drill.services.entering import Entry, entry_of, off_field
from drill.services.versions import SetLine, Stand, write_version
from roster.models import Season

T = TypeVar("T")
LONGEST = {"show": 100, "version": 60, "set": 20, "place": 30}
MANY = 3
"""as many places twice in one set are told in one line"""


@dataclass(frozen=True)
class Point:
    """One coordinate of the file."""

    record: Record
    set: str
    place: str
    x: int
    y: int
    numbers: dict[str, int]


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
        self.fields = queries.field_types(season)
        self.shows = {plain(s.name): s for s in Show.objects.filter(season=season)}
        versions = ShowVersion.objects.filter(show__season=season).select_related("show")
        self.versions = {(v.show_id, v.label): v for v in versions}
        self.drafts: dict[tuple[str, str], Draft] = {}
        self.entries: dict[str, Entry] = {}

    def read(self) -> list[Draft]:
        loose = []
        for record in self.mapped.records():
            if _is_total(record) and not record["show"]:
                loose.append(record)
                continue
            name = clean_name(record["show"])
            if not name:
                self.result.faults.append(record.fault("show", "The show is missing."))
            self._row(record, name)
        if len(self.drafts) == 1:
            next(iter(self.drafts.values())).totals += loose
        return list(self.drafts.values())

    def _row(self, record: Record, name: str) -> None:
        before = len(self.result.faults)
        self.result.faults += too_long(record, LONGEST)
        draft = self._draft(record, name)
        if _is_total(record):
            draft.totals.append(record)
            return
        point = self._point(record, self._field(record, draft.show))
        if point is not None and len(self.result.faults) == before:
            draft.points.append(point)

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
            else:
                message = f"{show} is written for {show.field_type}: words are read on {name}."
                self.result.warnings.append(record.fault("field", message))
        if name not in self.entries:
            self.entries[name] = entry_of(self.season, name)
        return self.entries[name]

    def _point(self, record: Record, entry: Entry) -> Point | None:
        for key in ("set", "place"):
            cell = record.cell(key)
            if not cell.text:
                self.result.faults.append(record.fault(key, "This is missing."))
            elif cell.oddity is Oddity.DATE or looks_like_date(cell.text):
                message = f"“{cell.text}” looks like a date that a spreadsheet made of a label "
                message += "such as 5-11."
                self.result.faults.append(record.fault(key, message))
        numbers = numbers_of(self.result, record)
        at = self._coordinate(record, entry)
        if at is None or numbers is None:
            return None
        return Point(record, record["set"], record["place"], *at, numbers)

    def _coordinate(self, record: Record, entry: Entry) -> tuple[int, int] | None:
        """Both directions, from one cell or two."""
        if record["coordinate"] and not (record["x"] or record["y"]):
            at = self._read(record, "coordinate", entry.writer.parse)
            keys = ("coordinate", "coordinate")
        else:
            x = self._read(record, "x", entry.across)
            y = self._read(record, "y", entry.depth)
            at = None if x is None or y is None else (x, y)
            keys = ("x", "y")
        if at is not None:
            self._warn_off_field(record, keys, *at)
        return at

    def _read(self, record: Record, key: str, read: Callable[[str], T]) -> T | None:
        try:
            return read(record[key])
        except ValueError as error:
            self.result.faults.append(record.fault(key, str(error)))
            return None

    def _warn_off_field(self, record: Record, keys: tuple[str, str], x: int, y: int) -> None:
        for key, off in zip(keys, (off_field(x, 0), off_field(0, y)), strict=True):
            if off:
                unit = "" if any(c.isalpha() for c in record[key]) else " steps"
                message = f"{record[key]}{unit} is off the field."
                self.result.warnings.append(record.fault(key, message))


def _is_total(record: Record) -> bool:
    """A closing line of totals: a figure for no set."""
    others = ("set", "x", "y", "coordinate", "counts")
    return bool(record["total"]) and not any(record[key] for key in others)


def plan(mapped: Mapped, season: Season, actor: User) -> Plan:
    """Each version named in the file is written anew from it."""
    result = Plan(faults=list(_lacking(mapped)))
    if result.faults:
        return result
    drafts = Reader(result, mapped, season).read()
    if result.faults:
        return result
    kept = queries.published_versions(season.pk)
    for draft in drafts:
        if not draft.points:
            continue
        lines = _lines(result, mapped, draft)
        _check_twice(result, draft.points)
        _check_missing(result, draft)
        line = _line(result, draft, lines)
        version = draft.version
        if version is not None and version.pk in kept and line.action is Action.CHANGE:
            message = f"A published lineup was made for {version}: give the new one another label."
            result.warnings.append(draft.points[0].record.fault("version", message))
        result.lines.append(line)
    return result


def _lacking(mapped: Mapped) -> Iterator[Fault]:
    if "show" not in mapped.mapping:
        message = "No show is named: put a line “Show: its name” above the table, or a column."
        yield Fault(0, "show", message)
    if not {"x", "y"} <= mapped.mapping.keys() and "coordinate" not in mapped.mapping:
        message = "No columns for where the places stand: choose x and y, or coordinate, above."
        yield Fault(0, "x", message)


def _lines(result: Plan, mapped: Mapped, draft: Draft) -> list[SetLine]:
    """The version's sets; what the file has no column for stays as it is stored."""
    said = gather(result, ((p.set, p.record, p.numbers) for p in draft.points))
    sequences: dict[str, list[str]] = defaultdict(list)
    for point in draft.points:
        sequences[point.place].append(point.set)
    lines = lines_of(result, in_order(sequences.values()), said)
    every_row = sum(p.numbers.get("counts", 0) for p in draft.points)
    for record in draft.totals:
        block = set(sequences.get(record["place"], said))
        check_total(result, record, {sum(x.counts for x in lines if x.label in block), every_row})
    old = {}
    if draft.version is not None:
        old = {s.label: s for s in DrillSet.objects.filter(version=draft.version)}
    keep = [key for key in ("between", "tempo") if key not in mapped.mapping]
    return [_kept(line, old.get(line.label), keep) for line in lines]


def _kept(line: SetLine, old: DrillSet | None, keep: Sequence[str]) -> SetLine:
    if old is None:
        return line
    between = old.is_between if "between" in keep else line.is_between
    return SetLine(line.label, line.counts, between, old.tempo if "tempo" in keep else line.tempo)


def _check_twice(result: Plan, points: list[Point]) -> None:
    """A place with two points in a set; a whole set that comes twice is told once."""
    seen: dict[tuple[str, str], Point] = {}
    twice: dict[str, list[tuple[Point, Point]]] = defaultdict(list)
    for point in points:
        first = seen.setdefault((point.set, point.place), point)
        if first is not point:
            twice[point.set].append((point, first))
    for label, pairs in twice.items():
        if len(pairs) > MANY:
            point, first = pairs[0]
            message = f"Set {label} is there twice: {len(pairs)} places stand in it two times "
            message += f"(also {_where(first)}). Give one of them another label."
            result.faults.append(point.record.fault("set", message))
            continue
        for point, first in pairs:
            message = f"Place {point.place} in set {label} also stands {_where(first)}."
            result.faults.append(point.record.fault("place", message))


def _where(point: Point) -> str:
    at = point.record.fault("x", "")
    moved = point.record.cell("set").column
    return f"in row {at.row}" + (f", {moved}" if moved else "")


def _check_missing(result: Plan, draft: Draft) -> None:
    """Places that stand in other sets, or that the show has, and not here."""
    standing: dict[str, set[str]] = defaultdict(set)
    first: dict[str, Record] = {}
    for point in draft.points:
        standing[point.set].add(point.place)
        first.setdefault(point.set, point.record)
    places = {p.place for p in draft.points}
    for label, here in standing.items():
        missing = sorted(places - here)
        if missing:
            message = (
                f"Set {label} lacks {len(missing)} of {len(places)} places ({_some(missing)})."
            )
            result.warnings.append(first[label].fault("set", message))
    if draft.show.pk is None:
        return
    absent = Place.objects.filter(show=draft.show).exclude(label__in=places)
    labels = list(absent.values_list("label", flat=True))
    if labels:
        message = f"This file lacks {len(labels)} of the show's places ({_some(labels)})."
        result.warnings.append(draft.points[0].record.fault("place", message))


def _some(labels: list[str]) -> str:
    return ", ".join(labels[:5]) + (" …" if len(labels) > 5 else "")


def _line(result: Plan, draft: Draft, lines: list[SetLine]) -> Line:
    old_lines, old = _stored(draft.version)
    stands = [Stand(p.set, p.place, p.x, p.y) for p in draft.points]
    new = set(stands)
    result.basis += [old_lines, sorted((s.set, s.place, s.x, s.y) for s in old)]
    show, label, row = draft.show, draft.label, draft.points[0].record.number
    text = f"{show.name}, version {label}: {len(lines)} sets, {len(stands)} positions"

    def do() -> None:
        if show.pk is None:
            show.save()
        write_version(show, label, lines, stands)

    if draft.version is None:
        return Line(row, Action.ADD, text, (), do)
    changes = []
    if old_lines != lines:
        changes.append(FieldChange("sets and counts", _sets_text(old_lines), _sets_text(lines)))
    if old != new:
        now = f"{len(new)}, {len(new - old)} of them new or moved"
        changes.append(FieldChange("positions", str(len(old)), now))
    if not changes:
        return Line(row, Action.SAME, text)
    return Line(row, Action.CHANGE, text, tuple(changes), do)


def _stored(version: ShowVersion | None) -> tuple[list[SetLine], set[Stand]]:
    if version is None:
        return [], set()
    sets = DrillSet.objects.filter(version=version).order_by("order")
    lines = [SetLine(s.label, s.counts, s.is_between, s.tempo) for s in sets]
    rows = Position.objects.filter(set__version=version)
    stands = rows.values_list("set__label", "place__label", "x", "y")
    return lines, {Stand(*row) for row in stands}


def _sets_text(lines: list[SetLine]) -> str:
    return ", ".join(f"{line.label} ({_set_text(line)})" for line in lines)


def _set_text(line: SetLine) -> str:
    tempo = f", {line.tempo} a minute" if line.tempo else ""
    return f"{line.counts}{', between' if line.is_between else ''}{tempo}"


KIND = register(
    ImportKind(
        "coordinates",
        "Coordinates",
        "One row a place and set, one block a place, or a wide table; in 8-to-5 steps or words. "
        "A version named in the file is written anew.",
        COLUMNS,
        plan,
        order=7,
        layout=table_of,
    )
)
