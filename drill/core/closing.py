"""A line that lost somebody closed up, and a show cut: the drill as it would be then."""

from __future__ import annotations

import math
from collections.abc import Collection, Mapping, Sequence
from dataclasses import replace
from itertools import pairwise

import numpy as np

from drill.core.move_checks import Drill, Finding
from drill.core.moves import PathKind, Way

Point = tuple[int, int]
EVEN = 2
"""gaps up to so many times the smallest still make a line"""


def respace(line: Sequence[Point], count: int) -> tuple[Point, ...]:
    """``count`` points evenly along a line, from its first end to its last (whole units).

    The line goes straight from point to point, so that arcs and bends keep their shape.
    """
    if count <= 1 or len(line) <= 1:
        return tuple(line[:1]) * count
    at = [0.0]
    for one, other in pairwise(line):
        at.append(at[-1] + math.dist(one, other))
    wanted = np.linspace(0, at[-1], count)
    x, y = (np.interp(wanted, at, [p[k] for p in line]) for k in (0, 1))
    return tuple((round(a), round(b)) for a, b in zip(x.tolist(), y.tolist(), strict=True))


def along(points: Mapping[int, Point]) -> tuple[int, ...]:
    """Places in order along their line: in the order given, or along the line's main direction
    where that makes a shorter way."""
    given = tuple(points)
    if len(given) < 3:
        return given
    table = np.array([points[p] for p in given], dtype=np.float64)
    centred = table - table.mean(axis=0)
    direction = np.linalg.svd(centred, full_matrices=False)[2][0]
    order = np.argsort(centred @ direction, kind="stable")
    swept = tuple(given[n] for n in order.tolist())
    if _length([points[p] for p in swept]) + 1 < _length([points[p] for p in given]):
        # From the end that comes first in the given order.
        return swept if given.index(swept[0]) < given.index(swept[-1]) else swept[::-1]
    return given


def _length(line: Sequence[Point]) -> float:
    return sum(math.dist(one, other) for one, other in pairwise(line))


def forms_line(line: Sequence[Point]) -> bool:
    """Whether neighbours stand about evenly, so that closing up makes sense."""
    gaps = [math.dist(one, other) for one, other in pairwise(line)]
    return len(line) >= 3 and max(gaps) <= EVEN * min(gaps)


def lines_of(drill: Drill, line: Sequence[int], gone: int) -> tuple[int, ...]:
    """The sets in which the places, the gone one among them, form a line."""
    found = []
    for at in range(len(drill.sets)):
        points = _points(drill, line, at)
        if gone in points and forms_line([points[p] for p in along(points)]):
            found.append(at)
    return tuple(found)


def _points(drill: Drill, line: Sequence[int], at: int) -> dict[int, Point]:
    return {
        p: (int(x), int(y)) for p in line if drill.known[at, p] for x, y in [drill.where[at, p]]
    }


def without(drill: Drill, gone: int) -> Drill:
    """The drill with one place fewer: the hole left open."""
    keep = [p for p in range(len(drill.places)) if p != gone]
    new = {place: row for row, place in enumerate(keep)}
    return Drill(
        drill.sets,
        tuple(drill.places[p] for p in keep),
        tuple(drill.instruments[p] for p in keep),
        drill.where[:, keep],
        drill.known[:, keep],
        {(at, new[p]): way for (at, p), way in drill.ways.items() if p != gone},
    )


def close_up(drill: Drill, line: Sequence[int], gone: int, sets: Collection[int]) -> Drill:
    """The drill without the gone place, and the rest of the line evenly along it in ``sets``.

    What was told of the way of somebody who now stands elsewhere no longer holds: it counts as
    unknown.
    """
    where, ways = drill.where.copy(), dict(drill.ways)
    for at in sets:
        points = _points(drill, line, at)
        if gone not in points:
            continue
        order = along(points)
        stay = [p for p in order if p != gone]
        for place, point in zip(stay, respace([points[p] for p in order], len(stay)), strict=True):
            where[at, place] = point
    for (at, place), way in drill.ways.items():
        moved = (where[at, place] != drill.where[at, place]).any()
        if moved or (at and (where[at - 1, place] != drill.where[at - 1, place]).any()):
            ways[at, place] = Way(PathKind.UNKNOWN) if way.kind is not PathKind.STRAIGHT else way
    return without(replace(drill, where=where, ways=ways), gone)


def cut(drill: Drill, first: int, last: int, counts: int) -> Drill:
    """The drill without the sets ``first`` to ``last`` (indices); ``counts`` lead straight from
    the last kept set to the next."""
    if not 0 < first <= last < len(drill.sets) - 1:
        raise ValueError("The first and the last set stay: what lies between them can be cut.")
    keep = [at for at in range(len(drill.sets)) if not first <= at <= last]
    new = {at: row for row, at in enumerate(keep)}
    heads = [drill.sets[at] for at in keep]
    heads[first] = replace(heads[first], counts=counts)
    ways = {
        (new[at], place): way
        for (at, place), way in drill.ways.items()
        if at in new and at != last + 1
    }
    return replace(
        drill, sets=tuple(heads), where=drill.where[keep], known=drill.known[keep], ways=ways
    )


def fresh(
    before: Drill, old: Sequence[Finding], after: Drill, new: Sequence[Finding]
) -> list[Finding]:
    """What is found in the changed drill and was not found before, by set and places."""
    known = {_what(before, finding) for finding in old}
    return [finding for finding in new if _what(after, finding) not in known]


def _what(drill: Drill, finding: Finding) -> tuple[object, ...]:
    names = tuple(drill.places[p] for p in finding.places)
    return finding.fault, drill.sets[finding.at].label, names
