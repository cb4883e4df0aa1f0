"""A line that lost somebody closed up, and a show cut: the drill as it would be then."""

from __future__ import annotations

import math
from collections.abc import Collection, Mapping, Sequence
from dataclasses import replace
from itertools import pairwise

import numpy as np
import numpy.typing as npt

from drill.shows.core.moves import PathKind, Way
from drill.shows.core.told_drill import Drill

Point = tuple[int, int]
EVEN = 2
"""gaps up to so many times the smallest still make a line"""
RING = 5
"""fewer that stand round are a box or a wedge: nobody closes up round its corners"""


def respace(line: Sequence[Point], count: int) -> tuple[Point, ...]:
    """``count`` points evenly along a line, from its first end to its last (whole units).

    The line goes straight from point to point, so that arcs and bends keep their shape.
    """
    if count <= 1 or len(line) <= 1:
        return tuple(line[:1]) * count
    at = _paced(line)
    return _standing_at(line, at, np.linspace(0, at[-1], count))


def respace_ring(ring: Sequence[Point], gone: int) -> tuple[Point, ...]:
    """Those of a ring but its ``gone``-th point, evenly all the way round, from the one after the
    gap: the ring turns neither way, so whoever stands across the gap stays."""
    turned = [*ring[gone:], *ring[:gone], ring[gone]]
    at = _paced(turned)
    gap = at[-1] / (len(ring) - 1)
    wanted = gap * np.arange(len(ring) - 1)
    # Round an uneven ring the turn may lead past the gap.
    return _standing_at(turned, at, (wanted + (at[1:-1] - wanted).mean()) % at[-1])


def _paced(line: Sequence[Point]) -> npt.NDArray[np.float64]:
    """How far along the line each of its points is."""
    return np.cumsum([0.0, *(math.dist(one, other) for one, other in pairwise(line))])


def _standing_at(
    line: Sequence[Point], at: npt.NDArray[np.float64], wanted: npt.NDArray[np.float64]
) -> tuple[Point, ...]:
    """The points ``wanted`` far along a line whose own are ``at`` far along it."""
    x, y = (np.interp(wanted, at, [p[k] for p in line]) for k in (0, 1))
    return tuple((round(a), round(b)) for a, b in zip(x.tolist(), y.tolist(), strict=True))


def along(points: Mapping[int, Point]) -> tuple[int, ...]:
    """Dots in order along their line: in the order given, or along the line's main direction
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


def forms_ring(line: Sequence[Point]) -> bool:
    """Whether the last stands as near to the first as neighbours do."""
    gaps = [math.dist(one, other) for one, other in pairwise(line)]
    return len(line) >= RING and math.dist(line[0], line[-1]) <= max(gaps)


def lines_of(drill: Drill, line: Sequence[int], gone: int) -> tuple[int, ...]:
    """The sets in which the dots, the gone one among them, form a line."""
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


def _closed_up(points: Mapping[int, Point], gone: int) -> dict[int, Point]:
    order = along(points)
    line, hole = [points[p] for p in order], order.index(gone)
    first, rest = order[:hole], order[hole + 1 :]
    if forms_ring(line):
        return dict(zip(rest + first, respace_ring(line, hole), strict=True))
    return dict(zip(first + rest, respace(line, len(line) - 1), strict=True))


def without(drill: Drill, gone: int) -> Drill:
    """The drill with one dot fewer: the hole left open."""
    keep = [p for p in range(len(drill.dots)) if p != gone]
    new = {dot: row for row, dot in enumerate(keep)}
    return Drill(
        drill.sets,
        tuple(drill.dots[p] for p in keep),
        tuple(drill.instruments[p] for p in keep),
        drill.where[:, keep],
        drill.known[:, keep],
        {(at, new[p]): way for (at, p), way in drill.ways.items() if p != gone},
    )


def close_up(drill: Drill, line: Sequence[int], gone: int, sets: Collection[int]) -> Drill:
    """The drill without the gone dot, and the rest of the line evenly along it in ``sets``;
    round it where the line is a ring.

    What was told of the way of somebody who now stands elsewhere no longer holds: it counts as
    unknown.
    """
    where, ways = drill.where.copy(), dict(drill.ways)
    for at in sets:
        points = _points(drill, line, at)
        if gone not in points:
            continue
        for dot, point in _closed_up(points, gone).items():
            where[at, dot] = point
    for (at, dot), way in drill.ways.items():
        moved = (where[at, dot] != drill.where[at, dot]).any()
        if moved or (at and (where[at - 1, dot] != drill.where[at - 1, dot]).any()):
            ways[at, dot] = Way(PathKind.UNKNOWN) if way.kind is not PathKind.STRAIGHT else way
    return without(replace(drill, where=where, ways=ways), gone)


def cut(drill: Drill, first: int, last: int, counts: int) -> Drill:
    """The drill without the sets ``first`` to ``last`` (indices); ``counts`` lead straight from
    the last kept set to the next."""
    if not 0 < first <= last < len(drill.sets) - 1:
        raise ValueError("The first and last sets stay: cut sets in between.")
    keep = [at for at in range(len(drill.sets)) if not first <= at <= last]
    new = {at: row for row, at in enumerate(keep)}
    heads = [drill.sets[at] for at in keep]
    heads[first] = replace(heads[first], counts=counts)
    ways = {
        (new[at], dot): way for (at, dot), way in drill.ways.items() if at in new and at != last + 1
    }
    return replace(
        drill, sets=tuple(heads), where=drill.where[keep], known=drill.known[keep], ways=ways
    )
