"""A drawing of footprints: soles, arrows, and its size on paper."""

from __future__ import annotations

from dataclasses import dataclass

from drill.field import labels
from drill.fundamentals.core import STEP

MM_AN_INCH = 0.55
"""how large an inch of the ground is drawn, unless the picture were too large for a page"""
WIDEST, HIGHEST = 90.0, 90.0
WRITTEN_IN = 16 * STEP
"""the square, in inches, in which a way's marks are drawn in these sizes"""
DOT, LETTER, ARROW, LINE = 3.6, 15.0, 2.2, 1.8
_SOLE = {
    True: "M1.4-6C-1.6-6.6-3-3-2.4-.6L-1.2 1H1.7L2-2.4C2.2-4 2.4-5.4 1.4-6Z"
    "M-1.2 2.4H1.7C2 4.4 1.3 5.8 .2 5.8S-1.6 4.4-1.2 2.4Z",
    False: "M-1.4-6C1.6-6.6 3-3 2.4-.6L1.2 1H-1.7L-2-2.4C-2.2-4-2.4-5.4-1.4-6Z"
    "M1.2 2.4H-1.7C-2 4.4-1.3 5.8-.2 5.8S1.6 4.4 1.2 2.4Z",
}
"""ball and heel of the left foot (True) and of the right one, toes up"""


Point = tuple[float, float]


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
