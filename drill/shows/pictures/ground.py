"""The ground of a picture: lines, hash marks, and the words along its edges."""

from __future__ import annotations

from dataclasses import dataclass

from drill.field.core import field
from drill.shows.core.sides import side_words
from drill.shows.pictures.shown import Shown


@dataclass(frozen=True, slots=True)
class Row:
    """A row of words along an edge: its height, in picture units and ems down, and the words by
    where they stand."""

    y: int
    drop: float
    words: tuple[tuple[int, str, str], ...]


@dataclass(frozen=True, slots=True)
class NumberRow:
    """The same of the yard lines' numbers, each with whether it is shown: not where it would be
    cut off at the picture's edge."""

    y: int
    drop: float
    numbers: tuple[tuple[int, str, bool], ...]


@dataclass(frozen=True)
class Ground(Shown):
    """The field under those who are shown."""

    @property
    def outline(self) -> str:
        (left, front), (right, back) = (
            self.place(-field.END_LINE, 0),
            self.place(field.END_LINE, field.FIELD_WIDTH),
        )
        return f"M{left} {back}H{right}V{front}H{left}Z"

    @property
    def yard_lines(self) -> str:
        lines = []
        for number in range(-10, 11):
            x, front = self.place(number * 5 * field.UNITS_PER_YARD, 0)
            lines.append(f"M{x} {front}V{self.place(0, field.FIELD_WIDTH)[1]}")
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
    def front_row(self) -> NumberRow:
        """The yard lines' numbers: before the front sideline, in a part along its front edge."""
        every = 1 if self.is_part else 2
        left, top, width, height = self.window
        words = []
        for n in range(-8, 9, every):
            x = self.place(n * 5 * field.UNITS_PER_YARD, 0)[0]
            from_middle = abs(x - left - width // 2)
            words.append((x, str(50 - 5 * abs(n)), from_middle < width // 2 - self.letter))
        edge = top + height * self.front_at if self.is_part else self.place(0, 0)[1]
        return NumberRow(edge, 1.0 if self.is_part is self.from_field else -0.35, tuple(words))

    @property
    def back_row(self) -> Row:
        """Which way the sides of whoever looks lie, and which way is back: along the back edge."""
        left, _, width, height = self.window
        edge = self.letter // 3
        one, two = side_words(left, left + width, *self.ends)
        words = (
            (edge, "start", one),
            (width // 2, "middle", "back"),
            (width - edge, "end", two),
        )
        return Row(height if self.from_field else 0, -0.4 if self.from_field else 1.0, words)

    @property
    def ends(self) -> tuple[int, int]:
        """The end lines, from left to right."""
        one, two = self.place(-field.END_LINE, 0)[0], self.place(field.END_LINE, 0)[0]
        return min(one, two), max(one, two)

    @property
    def middle_line(self) -> str:
        """The 50, for the small whole field."""
        x, front = self.place(0, 0)
        return f"M{x} {front}V{self.place(0, field.FIELD_WIDTH)[1]}"

    @property
    def front_at(self) -> int:
        """Where the front is: 0 at the top, 1 at the bottom."""
        return 0 if self.from_field else 1
