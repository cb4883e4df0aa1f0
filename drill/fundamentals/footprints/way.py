"""The way of a fundamental, drawn from above."""

from __future__ import annotations

import itertools
from collections.abc import Sequence

from drill.field import labels
from drill.fundamentals.core import STEP, Run
from drill.fundamentals.core.walked import turned
from drill.fundamentals.footprints.drawing import (
    ARROW,
    DOT,
    LETTER,
    WRITTEN_IN,
    Arrow,
    Drawing,
    Point,
)
from drill.fundamentals.footprints.frame import EDGE, grid_of, view_of, way_of

ARROW_SIDES = (-1j, -1, 1, 1j, -0.8 - 0.8j, 0.8 - 0.8j, -0.8 + 0.8j, 0.8 + 0.8j)
"""behind, left, right, ahead and between them"""


def way(run: Run, title: str, square: float, ends: Sequence[int]) -> Drawing:
    """The body's way in its square (side in steps), with the counts on which parts end. A larger
    square is drawn smaller, so its marks and words are larger."""
    half = square / 2 * STEP
    larger = max(2 * half / WRITTEN_IN, 0.5)
    points = [(x, -y) for x, y in run.points.tolist()]
    at: dict[tuple[int, int], list[int]] = {}
    for count in ends:
        x, y = points[count]
        at.setdefault((round(x), round(y)), []).append(count)
    corners = [(-half, -half), (half, -half), (half, half), (-half, half), (-half, -half)]
    lines = [*itertools.pairwise(points), *itertools.pairwise(corners)]
    dots = [labels.square(x, y, DOT * larger) for x, y in at]
    start = _start_arrow(points[0], float(run.facings[0]), larger, dots, lines)
    edge = half + 2 * EDGE * larger
    written = labels.place_labels(
        [(x, y, " ".join(map(str, counts))) for (x, y), counts in at.items()],
        size=LETTER * larger,
        gaps=[n * DOT * larger for n in (1.9, 3, 6)],
        taken=[*dots, _arrow_box(start)],
        lines=lines,
        within=(-edge, -edge, edge, edge),
    )
    marks = tuple((x, y, label) for (x, y), label in zip(at, written, strict=True))
    box = (-edge, -edge, 2 * edge, 2 * edge)
    return Drawing(
        title,
        view_of(box),
        box[2],
        box[3],
        grid_of(box),
        (),
        (),
        way_of(points),
        (start,),
        (-half, -half, 2 * half),
        marks,
        round(larger, 2),
    )


def _start_arrow(
    at: Point,
    facing: float,
    larger: float,
    dots: Sequence[labels.Box],
    lines: Sequence[labels.Line],
) -> Arrow:
    """Beside the start spot where nobody goes along: behind it, at a side or ahead."""
    found = []
    for order, side in enumerate(ARROW_SIDES):
        away = turned(complex(side) * 16 * larger, facing)
        x, y = round(at[0] + away.real, 1), round(at[1] - away.imag, 1)
        arrow = Arrow(x, y, -facing + 0.0, "start", round(ARROW * larger, 2))
        box = _arrow_box(arrow)
        covers = any(labels.overlaps(dot, box) for dot in dots)
        crossed = any(labels.crosses(line, box) for line in lines)
        found.append((covers, crossed, order, arrow))
    return min(found, key=lambda one: one[:3])[3]


def _arrow_box(arrow: Arrow) -> labels.Box:
    return labels.square(arrow.x, arrow.y, 5 * arrow.size)
