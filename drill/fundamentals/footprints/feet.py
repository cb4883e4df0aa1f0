"""Footprints as SVG, the same on pages and in prints; forward is up."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence

from drill.fundamentals.core import Foot, Run
from drill.fundamentals.core.walked import turned
from drill.fundamentals.footprints.drawing import Arrow, Drawing, Point, Sole
from drill.fundamentals.footprints.frame import box_of, grid_of, view_of, way_of

SPREAD = 4.5
"""inches from the body's line to a foot, where the stance is drawn though it counts as none"""
LABEL = 7.5
ROOM = 8.0
"""inches from a number to the next foot or number"""
NEAR = 3.0
Down = tuple[int, float, float, float]
"""count, x, y, facing of a foot put down"""


def footprints(run: Run, title: str, stance: float = 0.0) -> Drawing:
    """Every foot put down, with its counts; ``stance`` in inches, as the fundamental has it."""
    spread = max(SPREAD - stance / 2, 0.0)
    at: dict[tuple[Foot, int, int], list[Down]] = {}
    for p in run.prints:
        aside = turned(complex(p.foot.side * spread), p.facing)
        x, y = p.x + aside.real, -(p.y + aside.imag)
        at.setdefault((p.foot, round(x / NEAR), round(y / NEAR)), []).append(
            (p.count, x, y, p.facing)
        )
    points = [(x, -y) for x, y in run.points.tolist()]
    start = tuple(_standing(run, foot, SPREAD) for foot in Foot)
    feet = [(x, y) for there in at.values() for _, x, y, _ in there]
    standing = [(s.x, s.y) for s in start]
    arrows = _arrows(run, points, [*feet, *standing])
    soles = _soles(at, [*((a.x, a.y) for a in arrows), *standing])
    seen = [*points, *((s.x, s.y) for s in (*start, *soles)), *((a.x, a.y) for a in arrows)]
    box = box_of(seen)
    return Drawing(
        title,
        view_of(box),
        box[2],
        box[3],
        grid_of(box),
        start,
        tuple(soles),
        way_of(points),
        arrows,
    )


def _standing(run: Run, foot: Foot, spread: float) -> Sole:
    """A foot before the first count. A run starts at facing 0 in its picture."""
    x, y = run.points[0].tolist()
    return Sole(x + foot.side * spread, -y, 0.0, foot is Foot.LEFT, "", x, -y)


def _soles(at: Mapping[tuple[Foot, int, int], list[Down]], others: Sequence[Point]) -> list[Sole]:
    """Each place of a foot with its counts, written where they are clear of the others."""
    taken = [*others, *((x, y) for there in at.values() for _, x, y, _ in there)]
    soles = []
    for (foot, _, _), there in at.items():
        label = " ".join(str(count) for count, *_ in there)
        _, x, y, facing = there[0]
        where = _free_place(foot, x, y, facing, label, taken)
        taken.append(where)
        for index, (_, at_x, at_y, turn) in enumerate(there):
            soles.append(
                Sole(
                    round(at_x, 2),
                    round(at_y, 2),
                    round(-turn, 1) + 0.0,
                    foot is Foot.LEFT,
                    "" if index else label,
                    round(where[0], 2),
                    round(where[1], 2),
                )
            )
    return soles


def _free_place(
    foot: Foot, x: float, y: float, facing: float, label: str, taken: Sequence[Point]
) -> Point:
    """Beside the foot on the outside, ahead, behind or inside: the first with room."""
    wide = 1.8 * (len(label) - 1)
    best, room = (x, y), -1.0
    for side in (foot.side, 1j, -1j, -foot.side):
        out = turned(complex(side), facing)
        there = (x + out.real * (LABEL + wide), y - out.imag * (LABEL + 1.5 * abs(out.imag)))
        others = (math.dist(there, other) for other in taken if other != (x, y))
        free = min(others, default=ROOM)
        if free >= ROOM:
            return there
        if free > room:
            best, room = there, free
    return best


def _arrows(run: Run, points: Sequence[Point], feet: Sequence[Point]) -> tuple[Arrow, ...]:
    x, y = points[-1]
    facing, horns = float(run.facings[-1]), float(run.horns[-1])
    found = [_ahead(x, y, facing, "faces", feet)]
    if (horns - facing) % 360:
        found.append(_ahead(x, y, horns, "horns", feet))
    return tuple(found)


def _ahead(x: float, y: float, facing: float, word: str, feet: Sequence[Point]) -> Arrow:
    """Before the body; further to a side where a foot stands there."""
    tries = []
    for order, place in enumerate((14j, 14j + 16, 14j - 16)):
        ahead = turned(complex(place), facing)
        there = (round(x + ahead.real, 2), round(y - ahead.imag, 2))
        covers = any(math.dist(there, foot) < ROOM for foot in feet)
        tries.append((covers, order, there))
    _, _, where = min(tries)
    return Arrow(*where, round(-facing, 1) + 0.0, word)
