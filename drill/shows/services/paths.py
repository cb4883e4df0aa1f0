"""Described ways: the words kept for dots, run count by count between their coordinates."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from drill.field.core.field import UNITS_PER_INCH
from drill.fundamentals.core import FRONT, Fundamental, Move, Run, run
from drill.fundamentals.core.corrections import NEAR
from drill.fundamentals.core.drawn import goes_as_drawn, joined
from drill.fundamentals.core.words import NotUnderstood, read_words
from drill.fundamentals.services.fundamentals import fundamentals_of
from drill.shows.models import DrillSet, Path, Position, ShowVersion
from roster.people.models import Season

Key = tuple[int, int]
"""(set, dot) ids"""
Inches = tuple[float, float]
_SIDEWAYS = {
    0.0: "forward",
    90.0: "lateral-slide-left",
    180.0: "backward",
    270.0: "lateral-slide-right",
}
"""what steps along the field are, by degrees to the left of the facing"""


@dataclass(frozen=True, eq=False)
class Described:
    """The way of a dot to a set. ``points`` is None for a curve that nobody has described, and
    for words that do not end at the coordinate; else shape (counts + 1, 2) in 1/32 inch, with
    one facing a count in degrees. ``codes`` are the fundamentals of the words."""

    points: npt.NDArray[np.int64] | None
    facings: tuple[float, ...]
    codes: frozenset[str]
    told: int | None = None
    """the counts that the words take; None without words"""
    as_drawn: bool = False
    """part of the points is only joined: words leave it to the picture"""


def described_ways(version: ShowVersion, season: Season) -> dict[Key, Described]:
    """Every kept path of a version (at most four queries)."""
    paths = list(Path.objects.filter(set__version=version))
    if not paths:
        return {}
    sets = list(DrillSet.objects.filter(version=version).order_by("order"))
    before = {it.pk: sets[n - 1].pk for n, it in enumerate(sets) if n}
    counts = {it.pk: it.counts for it in sets}
    rows = Position.objects.filter(set__version=version, dot__in={path.dot_id for path in paths})
    at = {(s, p): (x, y) for s, p, x, y in rows.values_list("set_id", "dot_id", "x", "y")}
    fundamentals = fundamentals_of(season)
    # A rank's dots share their words.
    read = {words: moves_of(words, fundamentals) for words in {path.words for path in paths}}
    found: dict[Key, Described] = {}
    for path in paths:
        moves = read[path.words]
        start = at.get((before.get(path.set_id, 0), path.dot_id))
        end = at.get((path.set_id, path.dot_id))
        if moves and start and end:
            way = _way(moves, _inches(start), _inches(end), counts[path.set_id])
        else:
            way = Described(None, (), codes_of(moves))
        found[path.set_id, path.dot_id] = way
    return found


def moves_of(words: str, fundamentals: Mapping[str, Fundamental]) -> tuple[Move, ...]:
    """The moves; none for a curve, and for words of a fundamental that was removed since."""
    try:
        return read_words(words, fundamentals) if words else ()
    except NotUnderstood:
        return ()


def codes_of(moves: Iterable[Move]) -> frozenset[str]:
    """The fundamentals of the moves; where somebody looks at the start is none, and steps along
    the field are what they are for the facing."""
    facing, found = FRONT, set()
    for move in moves:
        if move.heading is not None:
            facing = move.heading
            continue
        found.add(
            move.fundamental.code
            if move.along is None
            else _SIDEWAYS.get((move.along - facing) % 360, "")
        )
        facing += move.fundamental.turn
    return frozenset(found - {""})


def _inches(at: tuple[int, int]) -> Inches:
    return at[0] / UNITS_PER_INCH, at[1] / UNITS_PER_INCH


def _off(made: Run, target: Inches) -> Inches | None:
    """How far the coordinate is from where the words end (inches); None beyond what rounding to
    quarter steps explains."""
    off = target[0] - made.end[0], target[1] - made.end[1]
    return off if max(abs(off[0]), abs(off[1])) <= NEAR else None


def _way(moves: Sequence[Move], start: Inches, end: Inches, counts: int) -> Described:
    made, codes = run(moves, start=start, facing=FRONT), codes_of(moves)
    as_drawn = goes_as_drawn(moves)
    if made.counts != counts:
        return Described(None, (), codes, made.counts)
    if as_drawn:
        points, facings = joined(moves, start=start, end=end, facing=FRONT)
    else:
        off = _off(made, end)
        if off is None:
            return Described(None, (), codes, made.counts)
        # What rounding left between words and coordinate is spread over the counts.
        points = made.points + np.linspace(0, 1, counts + 1)[:, None] * np.array(off)
        facings = made.facings
    units = np.rint(points * UNITS_PER_INCH).astype(np.int64)
    # A turn shows from the count it is done on: the step to it was faced as before.
    return Described(units, tuple(float(f) for f in facings[:-1]), codes, counts, as_drawn)
