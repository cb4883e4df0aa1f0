"""The frame of a drawing: its box, its grid, its way."""

from __future__ import annotations

from collections.abc import Sequence

from drill.fundamentals.core import STEP

EDGE = 15.0
SMALLEST = 64.0


Box = tuple[float, float, float, float]


def box_of(points: Sequence[tuple[float, float]]) -> Box:
    """Left, top, width, height around the points, with an edge and a smallest size."""
    xs, ys = [p[0] for p in points], [p[1] for p in points]
    width = max(max(xs) - min(xs) + 2 * EDGE, SMALLEST)
    height = max(max(ys) - min(ys) + 2 * EDGE, SMALLEST)
    middle = ((max(xs) + min(xs)) / 2, (max(ys) + min(ys)) / 2)
    left, top = middle[0] - width / 2, middle[1] - height / 2
    return (round(left, 1), round(top, 1), round(width, 1), round(height, 1))


def view_of(box: Box) -> str:
    """A box as the ``viewBox`` of SVG."""
    return " ".join(f"{value:g}" for value in box)


def grid_of(box: Box) -> str:
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


def way_of(points: Sequence[tuple[float, float]]) -> str:
    """Points as the path of a line through them."""
    return "M" + "L".join(f"{x:.4g} {y:.4g}" for x, y in points)
