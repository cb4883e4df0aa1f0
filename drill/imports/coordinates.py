"""Import of coordinates: one row a place and set."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable
from dataclasses import dataclass

from bandops.lib.accounts.models import User
from bandops.lib.imports.kinds import ImportKind, register
from bandops.lib.imports.plan import (
    Action,
    Column,
    Fault,
    FieldChange,
    Line,
    Mapped,
    Plan,
    Record,
    too_long,
)
from bandops.lib.imports.reading import Oddity
from bandops.lib.imports.values import looks_like_date, parse_decimal, parse_whole
from bandops.lib.names import clean_name, plain
from drill.core import field
from drill.enums import LineupState
from drill.models import DrillSet, Lineup, Place, Position, Show, ShowVersion
from roster.models import Season

COLUMNS = (
    Column("show", "show", "its name; made when new", True),
    Column("version", "version", "its label; 1 when empty"),
    Column("set", "set", "its label, in the order of the file", True, ("set number", "page")),
    Column("counts", "counts", "from the set before to this one"),
    Column(
        "place", "place", "label of the place; that of the spot by default", True, ("spot", "label")
    ),
    Column(
        "x",
        "x",
        "8-to-5 steps from the 50, positive to the press box's right",
        True,
        ("x steps", "across"),
    ),
    Column("y", "y", "8-to-5 steps from the front sideline", True, ("y steps", "depth")),
)
LONGEST = {"show": 100, "version": 60, "set": 20, "place": 30}
FARTHEST = 1_000 * field.UNITS_PER_STEP
"""steps from the 50 or the front sideline; beyond it a number is a slip"""


@dataclass(frozen=True)
class Point:
    """One row: where a place stands in a set (1/32 inches)."""

    row: int
    set: str
    counts: int
    place: str
    x: int
    y: int


def plan(mapped: Mapped, season: Season, actor: User) -> Plan:
    """Each version named in the file is written anew from it."""
    result = Plan()
    versions: dict[tuple[str, str], list[Point]] = {}
    names: dict[str, str] = {}
    for record in mapped.records():
        point = _point(result, record)
        show, label = clean_name(record["show"]), record["version"] or "1"
        if not show:
            result.faults.append(record.fault("show", "The show is missing."))
        if point is not None and show:
            names.setdefault(plain(show), show)
            versions.setdefault((plain(show), label), []).append(point)
    if result.faults:
        return result
    shows = {plain(s.name): s for s in Show.objects.filter(season=season)}
    kept = _published(season)
    for (key, label), points in versions.items():
        _check_twice(result, mapped, points)
        show_row = shows.setdefault(key, Show(season=season, name=names[key]))
        version = None
        if show_row.pk:
            version = ShowVersion.objects.filter(show=show_row, label=label).first()
        line = _line(result, show_row, version, label, points)
        if version is not None and version.pk in kept and line.action is Action.CHANGE:
            message = f"A published lineup was made for {version}: give the new one another label."
            result.warnings.append(_fault(mapped, points[0].row, "version", message))
        result.lines.append(line)
    return result


def _published(season: Season) -> set[int]:
    """The versions that published lineups were made for."""
    lineups = Lineup.objects.filter(event__season=season, state=LineupState.PUBLISHED)
    return {pk for kept in lineups.values_list("show_versions", flat=True) for pk in kept.values()}


def _point(result: Plan, record: Record) -> Point | None:
    before = len(result.faults)
    result.faults += too_long(record, LONGEST)
    numbers: dict[str, int] = {}
    for key, end in (("x", field.END_LINE), ("y", field.FIELD_WIDTH)):
        try:
            numbers[key] = field.units(str(parse_decimal(record[key])))
        except ValueError as error:
            result.faults.append(record.fault(key, str(error)))
            continue
        low = -end if key == "x" else 0
        if abs(numbers[key]) > FARTHEST:
            result.faults.append(record.fault(key, f"{record[key]} steps is far off any field."))
        elif not low <= numbers[key] <= end:
            result.warnings.append(record.fault(key, f"{record[key]} steps is off the field."))
    for key in ("set", "place"):
        if not record[key]:
            result.faults.append(record.fault(key, "This is missing."))
    cell = record.cell("place")
    if cell.oddity is Oddity.DATE or looks_like_date(cell.text):
        message = (
            f"“{cell.text}” looks like a date that a spreadsheet made of a label such as 5-11."
        )
        result.faults.append(record.fault("place", message))
    try:
        counts = parse_whole(record["counts"], 0)
    except ValueError as error:
        result.faults.append(record.fault("counts", str(error)))
    if len(result.faults) > before:
        return None
    return Point(record.number, record["set"], counts, record["place"], numbers["x"], numbers["y"])


def _check_twice(result: Plan, mapped: Mapped, points: list[Point]) -> None:
    seen: dict[tuple[str, str], int] = {}
    counts: dict[str, Point] = {}
    for point in points:
        key = (point.set, point.place)
        first = counts.setdefault(point.set, point)
        if key in seen:
            message = f"Place {point.place} in set {point.set} also stands in row {seen[key]}."
            result.faults.append(_fault(mapped, point.row, "place", message))
        elif first.counts != point.counts:
            message = f"Set {point.set} has {first.counts} counts in row {first.row}."
            result.faults.append(_fault(mapped, point.row, "counts", message))
        seen[key] = point.row
    places = {p.place for p in points}
    standing = defaultdict(set)
    for point in points:
        standing[point.set].add(point.place)
    for name in counts:
        missing = places - standing[name]
        if missing:
            some = ", ".join(sorted(missing)[:5])
            message = f"Set {name} lacks {len(missing)} of {len(places)} places ({some} …)."
            result.warnings.append(_fault(mapped, counts[name].row, "place", message))


def _fault(mapped: Mapped, row: int, key: str, message: str) -> Fault:
    return Fault(row, mapped.title(key), message)


SetKey = tuple[int, str, int]
PointKey = tuple[str, str, int, int]


def _line(
    result: Plan, show: Show, version: ShowVersion | None, label: str, points: list[Point]
) -> Line:
    old_sets, old = _stored(version)
    counts = {p.set: p.counts for p in points}
    sets: list[SetKey] = [(n, name, counts[name]) for n, name in enumerate(counts, 1)]
    new: set[PointKey] = {(p.set, p.place, p.x, p.y) for p in points}
    result.basis += [old_sets, sorted(old)]
    text = f"{show.name}, version {label}: {len(sets)} sets, {len(points)} positions"
    if version is None:
        return Line(points[0].row, Action.ADD, text, (), _writer(show, label, points, sets))
    changes = []
    if old_sets != sets:
        changes.append(FieldChange("sets and counts", _sets_text(old_sets), _sets_text(sets)))
    if old != new:
        now = f"{len(new)}, {len(new - old)} of them new or moved"
        changes.append(FieldChange("positions", str(len(old)), now))
    if not changes:
        return Line(points[0].row, Action.SAME, text)
    do = _writer(show, label, points, sets)
    return Line(points[0].row, Action.CHANGE, text, tuple(changes), do)


def _stored(version: ShowVersion | None) -> tuple[list[SetKey], set[PointKey]]:
    if version is None:
        return [], set()
    sets = DrillSet.objects.filter(version=version).order_by("order")
    numbered = [(n, s.label, s.counts) for n, s in enumerate(sets, 1)]
    rows = Position.objects.filter(set__version=version)
    return numbered, set(rows.values_list("set__label", "place__label", "x", "y"))


def _sets_text(sets: list[SetKey]) -> str:
    return ", ".join(f"{label} ({counts})" for _, label, counts in sets)


def _writer(show: Show, label: str, points: list[Point], sets: list[SetKey]) -> Callable[[], None]:
    def do() -> None:
        if show.pk is None:
            show.save()
        version = ShowVersion.objects.filter(show=show, label=label).first()
        if version is None:
            last = show.versions.order_by("-order").first()
            order = last.order + 1 if last else 1
            version = ShowVersion.objects.create(show=show, label=label, order=order)
        version.sets.all().delete()
        made = {
            name: DrillSet.objects.create(version=version, order=order, label=name, counts=counts)
            for order, name, counts in sets
        }
        places = {p.label: p for p in Place.objects.filter(show=show)}
        for name in dict.fromkeys(p.place for p in points):
            if name not in places:
                places[name] = Place.objects.create(show=show, label=name)
        Position.objects.bulk_create(
            Position(set=made[p.set], place=places[p.place], x=p.x, y=p.y) for p in points
        )

    return do


KIND = register(
    ImportKind(
        "coordinates",
        "Coordinates",
        "One row a place and set, in 8-to-5 steps. A version named in the file is written anew.",
        COLUMNS,
        plan,
        order=7,
    )
)
