"""Field pictures as SVG, the same on pages and in prints."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from drill.core import field

SCALE = 40
"""1/32 inches per picture unit: the field is 2,880 units from goal line to goal line"""
MARGIN = 60
AROUND = 90
"""how much of the field is shown around those a close picture is about"""
NEAR = 1600
"""how much of the field's length a near picture shows: some 55 yards"""


@dataclass(frozen=True, slots=True)
class Dot:
    """A point on the field (1/32 inches) with its label."""

    x: int
    y: int
    label: str = ""


@dataclass(frozen=True)
class Picture:
    """A field with everybody, stand-ins marked, holes ringed, one spot pointed out."""

    field_type: field.FieldType
    everyone: tuple[Dot, ...]
    stand_ins: tuple[Dot, ...] = ()
    holes: tuple[Dot, ...] = ()
    me: Dot | None = None
    title: str = ""
    near: bool = False
    """only the part of the field around ``me``, for small screens"""
    named: tuple[Dot, ...] = ()
    """those the picture is about: drawn dark, with their labels"""
    ways: tuple[tuple[Dot, Dot], ...] = ()
    """where they come from, as lines"""
    close: bool = False
    """only the part of the field around ``named`` and ``me``"""
    larger: float = 1.0
    """how much larger dots and labels are drawn, for a small print"""

    @property
    def view_box(self) -> str:
        if self.close and self.window is not None:
            return "{} {} {} {}".format(*self.window)
        width = 2 * (field.END_LINE // SCALE) + 2 * MARGIN
        height = field.FIELD_WIDTH // SCALE + 2 * MARGIN
        if not (self.near and self.me_at):
            return f"0 0 {width} {height}"
        left = min(max(self.me_at[0] - NEAR // 2, 0), width - NEAR)
        return f"{left} 0 {NEAR} {height}"

    @property
    def window(self) -> tuple[int, int, int, int] | None:
        """Left, top, width and height around those the picture is about, twice as wide as high."""
        shown = [*self.named] + ([self.me] if self.me else [])
        if not shown:
            return None
        at = [self.place(dot.x, dot.y) for dot in shown]
        (left, right), (top, bottom) = ((min(axis), max(axis)) for axis in zip(*at, strict=True))
        height = max(bottom - top + 2 * AROUND, (right - left + 2 * AROUND) // 2)
        middle, level = (left + right) // 2, (top + bottom) // 2
        return middle - height, level - height // 2, 2 * height, height

    @property
    def dot(self) -> int:
        """A dot's width in picture units, the same on the screen however close the picture is."""
        if not (self.close and self.window):
            return 19
        return round(max(8, self.window[3] // 42) * self.larger)

    @property
    def letter(self) -> int:
        """The height of a label in picture units."""
        return round(self.dot * 1.7)

    @property
    def named_at(self) -> list[tuple[int, int, str]]:
        return [(*self.place(d.x, d.y), d.label) for d in self.named]

    @property
    def ways_path(self) -> str:
        return "".join(
            "M{} {}L{} {}".format(*self.place(a.x, a.y), *self.place(b.x, b.y))
            for a, b in self.ways
        )

    @property
    def outline(self) -> str:
        left, top = self.place(-field.END_LINE, field.FIELD_WIDTH)
        right, bottom = self.place(field.END_LINE, 0)
        return f"M{left} {top}H{right}V{bottom}H{left}Z"

    @property
    def yard_lines(self) -> str:
        lines = []
        for number in range(-10, 11):
            x, top = self.place(number * 5 * field.UNITS_PER_YARD, field.FIELD_WIDTH)
            lines.append(f"M{x} {top}V{self.place(0, 0)[1]}")
        return "".join(lines)

    @property
    def hash_marks(self) -> str:
        marks = []
        for depth in (self.field_type.front_hash, self.field_type.back_hash):
            for number in range(-10, 11):
                x, y = self.place(number * 5 * field.UNITS_PER_YARD, depth)
                marks.append(f"M{x - 18} {y}h36")
        return "".join(marks)

    @property
    def yard_numbers(self) -> list[tuple[int, int, int]]:
        return [
            (*self.place(number * 5 * field.UNITS_PER_YARD, 0), 50 - 5 * abs(number))
            for number in range(-8, 9, 2)
        ]

    @property
    def everyone_path(self) -> str:
        return self.path(self.everyone)

    @property
    def stand_in_path(self) -> str:
        return self.path(self.stand_ins)

    @property
    def hole_rings(self) -> list[tuple[int, int, str]]:
        return [(*self.place(d.x, d.y), d.label) for d in self.holes]

    @property
    def me_at(self) -> tuple[int, int] | None:
        return self.place(self.me.x, self.me.y) if self.me else None

    def path(self, dots: Iterable[Dot]) -> str:
        """All dots as one path: far cheaper to draw than one element each."""
        return "".join("M{} {}h.1".format(*self.place(d.x, d.y)) for d in dots)

    def place(self, x: int, y: int) -> tuple[int, int]:
        """Picture coordinates: the press box looks from below."""
        across = (x + field.END_LINE) / SCALE + MARGIN
        down = (field.FIELD_WIDTH - y) / SCALE + MARGIN
        return round(across), round(down)
