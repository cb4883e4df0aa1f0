"""A drill checked from its first set to its last: what is impossible, too close, off the field,
or missing, worst first. It warns and never forbids."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Sequence

import numpy as np

from drill.field.core.field import END_LINE, FIELD_WIDTH
from drill.shows.core.approach import END, contacts
from drill.shows.core.move_findings import (
    FIRST,
    Close,
    Fault,
    Finding,
    LargeStep,
    Missing,
    OffField,
    Repeated,
    Unchecked,
    WrongCounts,
)
from drill.shows.core.moves import Ints, Limits, Move, PathKind, large_steps
from drill.shows.core.told_drill import Drill, fits, told_counts

ROUNDED_EDGE = 1
"""a described way may touch the edge: its points are rounded to whole units"""


def findings(drill: Drill, limits: Limits) -> tuple[Finding, ...]:
    """Everything found, worst first: faults of the table, then by how far beyond its limit each
    is, then what was not checked."""
    found: list[Finding] = [*_table(drill), *_edges(drill)]
    close: set[tuple[int, int]] = set()
    for to in range(1, len(drill.sets)):
        move = drill.move(to)
        rows = np.flatnonzero(drill.known[to - 1] & drill.known[to])
        here = set()
        for contact in contacts(move, limits.closest_gap, rows):
            pair = (contact.first, contact.second)
            here.add(pair)
            # Told at the end of the move before already.
            if contact.moment == 0 and pair in close:
                continue
            told = (contact.squared, contact.moment, move.counts, limits.closest_gap)
            found.append(Close(to, pair, *told))
        close = here
        found += _steps(drill, move, to, rows, limits)
        found += _unchecked(move, to)
    found += _standing(drill, limits, found)
    return tuple(sorted(found, key=_rank))


def _standing(drill: Drill, limits: Limits, found: list[Finding]) -> Iterator[Close]:
    """Dots too close in a set whose moves do not show it: they have no coordinate around it."""
    told = {(f.at, f.dots) for f in found if isinstance(f, Close)}
    for at, head in enumerate(drill.sets):
        rows, here = np.flatnonzero(drill.known[at]), drill.where[at]
        for contact in contacts(Move(here, here, 1), limits.closest_gap, rows):
            pair = (contact.first, contact.second)
            if not any((n, pair) in told for n in (at, at + 1)):
                yield Close(at, pair, contact.squared, END, head.counts, limits.closest_gap)


def _unchecked(move: Move, to: int) -> Iterator[Unchecked]:
    unknown = [(p, w) for p, w in sorted(move.ways.items()) if w.kind is PathKind.UNKNOWN]
    for kind in ((True, False), (True, True), (False, False)):
        dots = tuple(p for p, way in unknown if (way.told is not None, way.as_drawn) == kind)
        if dots:
            yield Unchecked(to, dots, *kind)


def _rank(finding: Finding) -> tuple[int, float, int, tuple[int, ...]]:
    if finding.fault in FIRST:
        return FIRST.index(finding.fault), -finding.severity, finding.at, finding.dots
    group = len(FIRST) + (finding.fault is Fault.UNCHECKED)
    return group, -finding.severity, finding.at, finding.dots


def _steps(drill: Drill, move: Move, to: int, rows: Ints, limits: Limits) -> Iterator[LargeStep]:
    known = set(rows.tolist())
    for row, step in large_steps(move, drill.instruments, limits):
        if row in known:
            yield LargeStep(to, (row,), step, move.kind(row))


def _table(drill: Drill) -> Iterator[Finding]:
    seen: dict[str, int] = {}
    for at, head in enumerate(drill.sets):
        label = " ".join(head.label.split()).casefold()
        if label in seen:
            yield Repeated(at, seen[label])
        seen.setdefault(label, at)
        if at and head.counts < 1:
            yield WrongCounts(at, head.counts)
        gone = np.flatnonzero(~drill.known[at])
        if len(gone):
            yield Missing(at, tuple(gone.tolist()))
    yield from _told_counts(drill)


def _told_counts(drill: Drill) -> Iterator[WrongCounts]:
    differing: dict[tuple[int, int], list[int]] = defaultdict(list)
    for (at, dot), way in drill.ways.items():
        counts, told = drill.sets[at].counts, told_counts(way)
        if at and counts > 0 and told is not None and told != counts:
            differing[at, told].append(dot)
    for (at, told), dots in sorted(differing.items()):
        yield WrongCounts(at, drill.sets[at].counts, told, tuple(sorted(dots)))


def _edges(drill: Drill) -> Iterator[OffField]:
    for at, dot in np.argwhere((_outside(drill.where) > 0) & drill.known).tolist():
        yield OffField(at, (dot,), int(_outside(drill.where[at, dot])))
    for (at, dot), way in sorted(drill.ways.items(), key=lambda item: item[0]):
        if way.points is None or not fits(way, drill.sets[at].counts):
            continue
        over = _outside(way.points[1:-1])
        if len(over) and over.max() > ROUNDED_EDGE:
            yield OffField(at, (dot,), int(over.max()), int(over.argmax()) + 1)


def _outside(points: Ints) -> Ints:
    """Units beyond the nearest sideline or end line that was crossed, 0 on the field."""
    x, y = points[..., 0], points[..., 1]
    over: Ints = np.maximum(np.maximum(np.abs(x) - END_LINE, np.maximum(-y, y - FIELD_WIDTH)), 0)
    return over


def fresh(
    before: Drill, old: Sequence[Finding], after: Drill, new: Sequence[Finding]
) -> list[Finding]:
    """What is found in the changed drill and was not found before, or not as bad, by set and
    dots."""
    known: dict[tuple[object, ...], float] = {}
    for finding in old:
        what = _what(before, finding)
        known[what] = max(finding.severity, known.get(what, 0.0))
    return [f for f in new if f.severity > WORSE * known.get(_what(after, f), -1.0)]


WORSE = 1.25
"""what was warned of before is news again when it is so many times as bad"""


def _what(drill: Drill, finding: Finding) -> tuple[object, ...]:
    names = tuple(drill.dots[p] for p in finding.dots)
    return finding.fault, drill.sets[finding.at].label, names
