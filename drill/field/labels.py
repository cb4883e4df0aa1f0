"""Where labels of a picture stand: beside their points, clear of dots, lines and each other."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace

Point = tuple[float, float]
Line = tuple[Point, Point]
Box = tuple[float, float, float, float]
"""left, top, right, bottom"""

WIDTH, RISE, FALL = 0.6, 0.75, 0.14
"""of a bold letter: how wide it is drawn, how far above and below its line, in ems"""
SIDES = ((0, -1), (0, 1), (1, 0), (-1, 0), (1, -1), (-1, -1), (1, 1), (-1, 1))
"""above, below, right, left, and the corners"""
ANCHORS = {-1: "end", 0: "middle", 1: "start"}
DROPS = {-1: 0.0, 0: 0.36, 1: RISE}
"""ems from the height a label hangs at down to its line"""
OUTSIDE, WORDED, COVERED, CROSSED, FARTHER = 5000.0, 2000.0, 100.0, 10.0, 1.0
"""what is worst about a place for a label, and what matters least"""


@dataclass(frozen=True, slots=True)
class Label:
    """A text beside a point: ``x`` and ``y`` from the point, ``drop`` in ems further down.
    ``lead`` is a line to it where it stands further off than it might. ``has_room`` is False
    where it stands on another one or is cut off."""

    text: str
    x: float
    y: float
    drop: float
    anchor: str
    lead: str = ""
    has_room: bool = True


def place_labels(
    points: Sequence[tuple[float, float, str]],
    *,
    size: float,
    gaps: Sequence[float],
    taken: Iterable[Box] = (),
    words: Iterable[Box] = (),
    lines: Sequence[Line] = (),
    within: Box | None = None,
    on_point: bool = False,
) -> list[Label]:
    """A label for each point, the first ones choosing first. ``gaps`` are the distances tried,
    nearest first; ``on_point`` tries the point itself before. A label that would stand on one of
    the ``words`` or on another label has no room, and takes none from those after it."""
    boxes, written, found = list(taken), list(words), []
    for x, y, text in points:
        tries = list(_tries(text, gaps, on_point))
        reach = max(gaps) + size * (WIDTH * len(text) + 1)
        near = [box for box in boxes if _reaches(box, x, y, reach)]
        beside = [box for box in written if _reaches(box, x, y, reach)]
        crossing = [line for line in lines if _reaches(_around(line), x, y, reach)]
        costs = []
        for order, label in enumerate(tries):
            box = box_of(label, x, y, size)
            cost = _cost(box, near, crossing, within)
            cost += WORDED * sum(overlaps(box, other) for other in beside)
            costs.append((cost + order * FARTHER / 100, order))
        _, order = min(costs)
        best = tries[order]
        box = box_of(best, x, y, size)
        cut_off = within is not None and not lies_in(box, within)
        if cut_off or any(overlaps(box, other) for other in beside):
            found.append(replace(best, has_room=False))
        else:
            found.append(best)
            written.append(box)
    return found


def box_of(label: Label, x: float, y: float, size: float) -> Box:
    """What a label of the point covers."""
    width = WIDTH * size * len(label.text)
    left = x + label.x - width * {"start": 0.0, "middle": 0.5, "end": 1.0}[label.anchor]
    base = y + label.y + label.drop * size
    return left, base - RISE * size, left + width, base + FALL * size


def overlaps(one: Box, other: Box) -> bool:
    """Whether two boxes share more than an edge."""
    return one[0] < other[2] and other[0] < one[2] and one[1] < other[3] and other[1] < one[3]


def lies_in(box: Box, other: Box) -> bool:
    """Whether a box is wholly within the other."""
    return other[0] <= box[0] and other[1] <= box[1] and box[2] <= other[2] and box[3] <= other[3]


def crosses(line: Line, box: Box) -> bool:
    """Whether a part of the line lies in the box."""
    (x, y), (to_x, to_y) = line
    low, high = 0.0, 1.0
    for start, way, least, most in (
        (x, to_x - x, box[0], box[2]),
        (y, to_y - y, box[1], box[3]),
    ):
        if not way:
            if not least < start < most:
                return False
            continue
        first, last = sorted(((least - start) / way, (most - start) / way))
        low, high = max(low, first), min(high, last)
    return low < high


def square(x: float, y: float, half: float) -> Box:
    """The box around a dot."""
    return x - half, y - half, x + half, y + half


def _tries(text: str, gaps: Sequence[float], on_point: bool) -> Iterator[Label]:
    if on_point:
        yield Label(text, 0, 0, DROPS[0], ANCHORS[0])
    for gap in gaps:
        for across, down in SIDES:
            share = 0.7 if across and down else 1.0
            x, y = round(across * gap * share, 1), round(down * gap * share, 1)
            start = [round(side * gaps[0] * share * 0.7, 1) for side in (across, down)]
            lead = "M{} {}L{} {}".format(*start, x, y) if gap > gaps[0] else ""
            yield Label(text, x, y, DROPS[down], ANCHORS[across], lead)


def _cost(box: Box, taken: Sequence[Box], lines: Sequence[Line], within: Box | None) -> float:
    cost = COVERED * sum(overlaps(box, other) for other in taken)
    cost += CROSSED * sum(crosses(line, box) for line in lines)
    if within and not lies_in(box, within):
        cost += OUTSIDE
    return cost


def _around(line: Line) -> Box:
    (x, y), (to_x, to_y) = line
    return min(x, to_x), min(y, to_y), max(x, to_x), max(y, to_y)


def _reaches(box: Box, x: float, y: float, reach: float) -> bool:
    return overlaps((box[0] - 1, box[1] - 1, box[2] + 1, box[3] + 1), square(x, y, reach))
