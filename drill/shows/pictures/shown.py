"""What a picture of the field shows, and which part of the field that takes."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from functools import cached_property

from drill.field.core import field

SCALE = 40
"""1/32 inches per picture unit: the field is 2,880 units from goal line to goal line"""
MARGIN = 60
"""beside the end lines"""
ROW = 140
"""before the front sideline and behind the back one, with room for a row of words"""
AROUND = 90
"""how much of the field is shown around those a close picture is about"""
ROOM = 250
"""how much beside a line that changes, some 9 yards"""
WHOLE = (0, 0, 2 * (field.END_LINE // SCALE) + 2 * MARGIN, field.FIELD_WIDTH // SCALE + 2 * ROW)
"""left, top, width and height of the whole field"""


@dataclass(frozen=True, slots=True)
class DrawnDot:
    """A point on the field (1/32 inches) with its label."""

    x: int
    y: int
    label: str = ""


@dataclass(frozen=True)
class Shown:
    """Who is shown and how; dots in picture units."""

    field_type: field.FieldType
    everyone: tuple[DrawnDot, ...]
    stand_ins: tuple[DrawnDot, ...] = ()
    holes: tuple[DrawnDot, ...] = ()
    me: DrawnDot | None = None
    title: str = ""
    named: tuple[DrawnDot, ...] = ()
    """those the picture is about: drawn dark, with their labels"""
    ways: tuple[tuple[DrawnDot, DrawnDot], ...] = ()
    """where they come from, as lines"""
    close: bool = False
    """only the part of the field around ``named`` and ``me``"""
    opens: tuple[DrawnDot, ...] = ()
    """left open: dotted rings"""
    closed: tuple[DrawnDot, ...] = ()
    """closed up: nobody stands there, so only the label in brackets"""
    doubtful: tuple[DrawnDot, ...] = ()
    """who may be out, holders and stand-ins: a tick above them"""
    moved: tuple[DrawnDot, ...] = ()
    """drawn larger, without labels"""
    pale: bool = False
    """everybody is as usual, and only what is not is marked"""
    around: tuple[DrawnDot, ...] = ()
    """only the part of the field around these"""
    from_field: bool = False
    """as a marcher sees it who faces the press box: turned by half a turn, front at the top"""

    @property
    def view_box(self) -> str:
        return "{} {} {} {}".format(*self.window)

    @cached_property
    def window(self) -> tuple[int, int, int, int]:
        """Left, top, width and height of what is shown: the whole field, or a part of it around
        those the picture is about."""
        shown = [*self.named] + ([self.me] if self.me else [])
        if self.close and shown:
            return self._window(shown, AROUND, AROUND)
        if self.around:
            return self._window(self.around, ROOM, ROOM // 2)
        return WHOLE

    def _window(
        self, shown: Iterable[DrawnDot], aside: int, above: int
    ) -> tuple[int, int, int, int]:
        at = [self.place(dot.x, dot.y) for dot in shown]
        (left, right), (top, bottom) = ((min(axis), max(axis)) for axis in zip(*at, strict=True))
        height = max(bottom - top + 2 * above, round((right - left) / 2 + aside))
        width = 2 * height
        return (left + right - width) // 2, (top + bottom - height) // 2, width, height

    @property
    def is_part(self) -> bool:
        """Whether the sidelines may be out of sight: words then stand along the edges."""
        return self.window != WHOLE

    @property
    def whole_box(self) -> str:
        """The view of the small whole field beside a part."""
        return "{} {} {} {}".format(*WHOLE)

    @property
    def is_faint(self) -> bool:
        """Whether everybody only stands around what the picture is about."""
        return self.pale or bool(self.named or self.me)

    @property
    def dot(self) -> int:
        """A dot's width in picture units, the same on the screen however close the picture is."""
        if not self.close:
            return 19
        return max(8, self.window[3] // 42)

    @property
    def letter(self) -> int:
        """The height of words and labels in picture units."""
        if self.is_part:
            return round(max(9, self.window[3] * 0.04))
        return 64

    @property
    def me_at(self) -> tuple[int, int] | None:
        return self.place(self.me.x, self.me.y) if self.me else None

    def path(self, dots: Iterable[DrawnDot]) -> str:
        """All dots as one path: far cheaper to draw than one element each."""
        return "".join("M{} {}h.1".format(*self.place(d.x, d.y)) for d in dots)

    def place(self, x: int, y: int) -> tuple[int, int]:
        """Picture coordinates: the press box looks from below, a marcher from above."""
        turn = -1 if self.from_field else 1
        across = (turn * x + field.END_LINE) / SCALE + MARGIN
        back = y if self.from_field else field.FIELD_WIDTH - y
        return round(across), round(back / SCALE) + ROW
