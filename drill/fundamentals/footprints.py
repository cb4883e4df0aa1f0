"""Footprints and ways as SVG, the same on pages and in prints; forward is up."""

from __future__ import annotations

import itertools
import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from drill.field import labels
from drill.fundamentals.core import STEP, Foot, Fundamental, Run
from drill.fundamentals.core.walked import turned

SPREAD = 4.5
"""inches from the body's line to a foot, where the stance is drawn though it counts as none"""
EDGE = 15.0
LABEL = 7.5
ROOM = 8.0
"""inches from a number to the next foot or number"""
NEAR = 3.0
SMALLEST = 64.0
MM_AN_INCH = 0.55
"""how large an inch of the ground is drawn, unless the picture were too large for a page"""
WIDEST, HIGHEST = 90.0, 90.0
WRITTEN_IN = 16 * STEP
"""the square, in inches, in which a way's marks are drawn in these sizes"""
DOT, LETTER, ARROW, LINE = 3.6, 15.0, 2.2, 1.8
ARROW_SIDES = (-1j, -1, 1, 1j, -0.8 - 0.8j, 0.8 - 0.8j, -0.8 + 0.8j, 0.8 + 0.8j)
"""behind, left, right, ahead and between them"""
_SOLE = {
    True: "M1.4-6C-1.6-6.6-3-3-2.4-.6L-1.2 1H1.7L2-2.4C2.2-4 2.4-5.4 1.4-6Z"
    "M-1.2 2.4H1.7C2 4.4 1.3 5.8 .2 5.8S-1.6 4.4-1.2 2.4Z",
    False: "M-1.4-6C1.6-6.6 3-3 2.4-.6L1.2 1H-1.7L-2-2.4C-2.2-4-2.4-5.4-1.4-6Z"
    "M1.2 2.4H-1.7C-2 4.4-1.3 5.8-.2 5.8S1.6 4.4 1.2 2.4Z",
}
"""ball and heel of the left foot (True) and of the right one, toes up"""


Point = tuple[float, float]
Down = tuple[int, float, float, float]
"""count, x, y, facing of a foot put down"""


@dataclass(frozen=True, slots=True)
class Sole:
    """A foot drawn at a place, turned; ``label`` holds its counts, beside it."""

    x: float
    y: float
    turn: float
    is_left: bool
    label: str
    label_x: float
    label_y: float

    @property
    def outline(self) -> str:
        return _SOLE[self.is_left]


@dataclass(frozen=True, slots=True)
class Arrow:
    """Which way somebody looks, or where horns point, at a place."""

    x: float
    y: float
    turn: float
    word: str
    size: float = 1.0


@dataclass(frozen=True)
class Row:
    """One count in numbers: steps from the start, degrees from the first facing."""

    count: int
    foot: str
    across: float
    forward: float
    facing: float
    horns: float

    @property
    def turned(self) -> str:
        """The facing in words: '90° left', empty straight ahead."""
        if not self.facing:
            return ""
        return f"{abs(self.facing):.4g}° {'left' if self.facing > 0 else 'right'}"


@dataclass(frozen=True)
class Drawing:
    """A run drawn: soles, the body's way, where it begins and ends."""

    title: str
    view_box: str
    width: float
    height: float
    grid: str
    start: tuple[Sole, ...]
    soles: tuple[Sole, ...]
    way: str
    arrows: tuple[Arrow, ...]
    square: tuple[float, float, float] | None = None
    marks: tuple[tuple[float, float, labels.Label], ...] = ()
    larger: float = 1.0
    """how much larger marks and their words are drawn"""

    @property
    def dot(self) -> float:
        return round(DOT * self.larger, 1)

    @property
    def letter(self) -> float:
        return round(LETTER * self.larger, 1)

    @property
    def line(self) -> float:
        return round(LINE * self.larger, 1)

    @property
    def size(self) -> tuple[float, float]:
        """Width and height in millimetres."""
        scale = min(MM_AN_INCH, WIDEST / self.width, HIGHEST / self.height)
        return (round(self.width * scale, 1), round(self.height * scale, 1))


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
    box = _box(seen)
    return Drawing(
        title, _view(box), box[2], box[3], _grid(box), start, tuple(soles), _way(points), arrows
    )


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
        _view(box),
        box[2],
        box[3],
        _grid(box),
        (),
        (),
        _way(points),
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


def rows(run: Run) -> list[Row]:
    """Count by count in numbers; the first row is the start."""
    feet: dict[int, Foot] = {p.count: p.foot for p in run.prints}
    return [
        Row(
            count,
            feet[count].value if count in feet else "",
            round(float(x) / STEP, 2) + 0.0,
            round(float(y) / STEP, 2) + 0.0,
            round(float(facing), 1) + 0.0,
            round(float(horns), 1) + 0.0,
        )
        for count, ((x, y), facing, horns) in enumerate(
            zip(run.points, run.facings, run.horns, strict=True)
        )
    ]


def shown_counts(it: Fundamental) -> int:
    """How many counts of a fundamental a picture shows: its own, or a short phrase."""
    if it.counts is not None:
        return it.counts
    return 4


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


Box = tuple[float, float, float, float]


def _box(points: Sequence[tuple[float, float]]) -> Box:
    """Left, top, width, height around the points, with an edge and a smallest size."""
    xs, ys = [p[0] for p in points], [p[1] for p in points]
    width = max(max(xs) - min(xs) + 2 * EDGE, SMALLEST)
    height = max(max(ys) - min(ys) + 2 * EDGE, SMALLEST)
    middle = ((max(xs) + min(xs)) / 2, (max(ys) + min(ys)) / 2)
    left, top = middle[0] - width / 2, middle[1] - height / 2
    return (round(left, 1), round(top, 1), round(width, 1), round(height, 1))


def _view(box: Box) -> str:
    return " ".join(f"{value:g}" for value in box)


def _grid(box: Box) -> str:
    """Lines a step apart, one of them through the start."""
    left, top, width, height = box
    lines = []
    for number in range(int(left // STEP), int((left + width) // STEP) + 1):
        if left <= number * STEP <= left + width:
            lines.append(f"M{number * STEP:g} {top:g}v{height:g}")
    for number in range(int(top // STEP), int((top + height) // STEP) + 1):
        if top <= number * STEP <= top + height:
            lines.append(f"M{left:g} {number * STEP:g}h{width:g}")
    return "".join(lines)


def _way(points: Sequence[tuple[float, float]]) -> str:
    return "M" + "L".join(f"{x:.4g} {y:.4g}" for x, y in points)
