"""What is wrong between the rows of a version: told beside what is wrong in single cells, and not
a second time where only a cell that cannot be read is the cause."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterable

from bandops.lib.imports.plan import Plan, Record
from bandops.lib.names import label_words
from drill.shows.imports.coordinate_reader import Draft, Point
from drill.shows.imports.set_lines import (
    Step,
    check_running,
    check_total,
    gather,
    in_order,
    lines_of,
)
from drill.shows.models import Dot
from drill.shows.services.versions import SetLine

MANY = 3
"""as many dots twice in one set are told in one line"""
SHOWN = 5
"""dots that a message names"""


def check(result: Plan, draft: Draft) -> list[SetLine]:
    """Tell all slips between rows; returns the sets, right where nothing is wrong."""
    points = draft.points
    read = [p for p in points if "set" not in p.unread]
    said = gather(result, ((p.set, p.record, p.numbers) for p in read))
    sequences: dict[str, list[str]] = defaultdict(list)
    for point in read:
        sequences[point.dot].append(point.set)
    lines = lines_of(in_order(sequences.values()), said)
    check_running(result, _steps(points))
    for record in draft.totals:
        check_total(result, record, _sums(record, points, lines))
    named = [p for p in read if "dot" not in p.unread]
    _check_twice(result, named)
    _check_missing(result, draft, named)
    _check_absent(result, draft, named)
    return lines


def _steps(points: Iterable[Point]) -> list[tuple[str, Step]]:
    """The sets in the order of the file; where a dot has one again, it is a step of its own."""
    steps: dict[tuple[str, int], Step] = {}
    sequences: dict[str, dict[tuple[str, int], None]] = defaultdict(dict)
    times: Counter[tuple[str, str]] = Counter()
    for point in points:
        at = (point.set, min(times[point.set, point.dot], MANY))
        times[point.set, point.dot] += 1
        if at not in steps:
            steps[at] = Step(doubtful=at[1] > 0 or "set" in point.unread)
        steps[at].add(point.record, point.numbers, point.unread)
        sequences[point.dot][at] = None
    return [(at[0], steps[at]) for at in in_order(map(list, sequences.values()))]


def _sums(record: Record, points: list[Point], lines: list[SetLine]) -> set[int]:
    """What a closing total may say: of a dot's own rows, of the sets, of every row; nothing
    where a figure cannot be read."""
    words = label_words(record["dot"])
    own = [p for p in points if label_words(p.dot) == words] or points
    if any(p.unread & {"counts", "total"} for p in own):
        return set()
    sets = {p.set for p in own}
    return {
        sum(line.counts for line in lines if line.label in sets),
        sum(p.numbers.get("counts", 0) for p in own),
        sum(p.numbers.get("counts", 0) for p in points),
    }


def _check_twice(result: Plan, points: list[Point]) -> None:
    """A dot with two points in a set; a whole set that comes twice is told once. Two rows that
    are both wrong elsewhere are let be: what makes them two may be what is wrong."""
    seen: dict[tuple[str, str], Point] = {}
    twice: dict[str, list[tuple[Point, Point]]] = defaultdict(list)
    for point in points:
        first = seen.setdefault((point.set, point.dot), point)
        if first is not point and not (first.faulty and point.faulty):
            twice[point.set].append((point, first))
    for label, pairs in twice.items():
        if len(pairs) > MANY:
            point, first = pairs[0]
            message = f"Set {label} is there twice: it has {len(pairs)} dots two times "
            message += f"(also {_where(first)}). Give one of them another label."
            result.faults.append(point.record.fault("set", message))
            continue
        for point, first in pairs:
            message = f"Dot {point.dot} in set {label} is also {_where(first)}: take one "
            message += "out, or give it another set or dot."
            result.faults.append(point.record.fault(_own_label(point.record), message))


def _own_label(record: Record) -> str:
    """The label that is the row's own, and not one that stands above many rows."""
    dot, of_set = record.cell("dot"), record.cell("set")
    above = bool(of_set.column and not of_set.row)
    return "set" if above or dot.row not in (0, record.number) else "dot"


def _where(point: Point) -> str:
    row = point.record.fault("x", "").row
    of_set = point.record.cell("set")
    above = of_set.column and not of_set.row
    return f"in row {row}" + (f", {of_set.column}" if above else "")


def _check_missing(result: Plan, draft: Draft, named: list[Point]) -> None:
    """Dots that stand in other sets and not here. A row whose set or dot cannot be read may
    be what is missing: it is told only what such rows cannot make good."""
    standing: dict[str, set[str]] = defaultdict(set)
    first: dict[str, Record] = {}
    for point in named:
        standing[point.set].add(point.dot)
        first.setdefault(point.set, point.record)
    dots = {p.dot for p in draft.points if "dot" not in p.unread}
    nameless = Counter(p.set for p in draft.points if "dot" in p.unread)
    astray = Counter(p.dot for p in draft.points if "set" in p.unread)
    lacking = {label: dots - here for label, here in standing.items()}
    lacks = Counter(dot for missing in lacking.values() for dot in missing)
    for label, missing in lacking.items():
        left = sorted(dot for dot in missing if lacks[dot] > astray[dot])
        if len(left) <= nameless[label]:
            continue
        message = f"Set {label} lacks {len(left)} of {len(dots)} dots ({_some(left)})."
        if nameless[label] or any(astray[dot] for dot in left):
            message += " One may be in a row that could not be read."
        result.warnings.append(first[label].fault("set", message))


def _check_absent(result: Plan, draft: Draft, named: list[Point]) -> None:
    """Dots that the show has and the file has not."""
    if draft.show.pk is None or not named:
        return
    dots = {p.dot for p in draft.points}
    absent = Dot.objects.filter(show=draft.show).exclude(label__in=dots)
    labels = list(absent.values_list("label", flat=True))
    unread = {p.dot for p in draft.points if "dot" in p.unread}
    if len(labels) > len(unread):
        message = f"This file lacks {len(labels)} of the show's dots ({_some(labels)})."
        result.warnings.append(draft.points[0].record.fault("dot", message))


def _some(labels: list[str]) -> str:
    return ", ".join(labels[:SHOWN]) + (" …" if len(labels) > SHOWN else "")
